package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
)

// A Line is the session of a browser as a connection sees it that outlives the
// request it began with. Looking at it reads the session anew each time and does not
// make it last longer. The zero Line is nobody's.
type Line struct {
	sessions *Sessions
	token    string
}

// Line gives the line of the browser that asks, whether or not anybody is signed in
// there. The request need not have come through Wrap.
func (s *Sessions) Line(r *http.Request) Line {
	c, err := r.Cookie(cookieName)
	if err != nil {
		return Line{}
	}
	return Line{sessions: s, token: c.Value}
}

// ID names the session, and says nothing of its token: a new sign-in has another.
func (l Line) ID() string {
	sum := sha256.Sum256([]byte("line " + l.token))
	return hex.EncodeToString(sum[:16])
}

// Person is who is signed in now and their standing, as [Sessions.Person] says it.
// The context must be none of a request that came through Wrap, whose session was
// read once.
func (l Line) Person(ctx context.Context) (string, Standing, error) {
	if l.sessions == nil {
		return "", Standing{}, nil
	}
	ctx, err := l.sessions.manager.Load(ctx, l.token)
	if err != nil {
		return "", Standing{}, fmt.Errorf("desk: look at a session: %w", err)
	}
	return l.sessions.Person(ctx)
}
