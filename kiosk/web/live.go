package web

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"

	"cribgate/kiosk/desk"
	"cribgate/kiosk/live"
	"cribgate/store"
)

// follows is what a page is told of while it is open. Each is told when the line
// is down, when it is another day, when the program was started anew or is another
// one, when the register is another one than the page was made from, and when what
// stands at the top of every page is another (static/live.js).
type follows int

const (
	followsRegister follows = iota // of every event too; the zero value, since nothing may be silently old
	followsHouse                   // of nothing more: no event makes it another page
	followsClock                   // of every event, and it is made anew each minute, since it says what time has to do with
)

var followsNames = [...]string{followsRegister: "register", followsHouse: "house", followsClock: "clock"}

// Made is what a page was made from, which it holds against what it is told.
type Made struct {
	live.Stand
	Follows string
	Answer  bool   // to a form: the page's address gives another page
	Clock   string // the crib's, to the minute
}

// Unread is where the digest of a page is put once the page is made.
func (Made) Unread() string { return unread }

const unread = "----------------"

// live keeps a page told of how things stand. It says nothing of slings and nobody's
// name, so it asks for no sign-in; pages of another origin are refused by the hub.
func (s *Server) live(w http.ResponseWriter, r *http.Request) {
	if err := s.Live.Serve(w, r); err != nil {
		s.Log.InfoContext(r.Context(), "a page does not follow the register", "id", requestID(r.Context()), "error", err)
	}
}

// house is how the house stands by a clock.
func (s *Server) house(register string, clock store.Clock) live.House {
	says := sha256.New()
	fmt.Fprintln(says, doubtSentence(clock))
	fmt.Fprintln(says, s.broken())
	fmt.Fprintln(says, s.printed(clock.Today()))
	fmt.Fprintln(says, s.waiting.moved())
	if s.Copies != nil {
		now := s.Copies.Now()
		state := s.Copies.State()
		fmt.Fprintln(says, state.Warnings(now, true))
		if newest, ok := state.Newest(now); ok {
			fmt.Fprintln(says, newest.At, newest.Made)
		}
	}
	return live.House{Register: register, Program: s.Version + " " + s.assets.prefix, Day: clock.Today().String(), Says: hex.EncodeToString(says.Sum(nil)[:8])}
}

// Tell tells the open pages how the house stands now: that it is another day, or that
// something has to be said on every page that is no event. Somebody has to call it
// now and then; see [Server.Follow].
func (s *Server) Tell(ctx context.Context) error {
	clock, err := s.Store.Clock(ctx)
	if err != nil {
		return fmt.Errorf("web: tell how the house stands: %w", err)
	}
	head, err := s.Store.Head(ctx)
	if err != nil {
		return fmt.Errorf("web: tell how the house stands: %w", err)
	}
	s.Live.Stands(s.house(head.Log.String(), clock))
	return nil
}

// Follow keeps the open pages told until ctx ends: of each event at once, of the
// house once a beat. What fails is logged and tried again.
func (s *Server) Follow(ctx context.Context) {
	beat := time.NewTicker(live.Beat)
	defer beat.Stop()
	events := s.Store.Watch(ctx)
	var beside sync.WaitGroup
	beside.Go(func() { s.fill(ctx) })
	defer beside.Wait()
	for {
		if err := s.Tell(ctx); err != nil && ctx.Err() == nil {
			s.Log.WarnContext(ctx, "open pages are not told how the house stands", "error", err)
		}
		select {
		case at, open := <-events:
			if !open {
				return
			}
			s.Live.Announce(at)
		case <-beat.C:
		}
	}
}

// madeFrom says what a page is made from, and tells the hub as well, so that no page
// knows more than the line does: one that does has seen what the register has lost.
func (s *Server) madeFrom(v *visit) Made {
	if v.register == "" { // it could not be read, and the page says that
		return Made{Follows: followsNames[followsHouse], Answer: true}
	}
	house := s.house(v.register, v.clock)
	s.Live.Announce(v.at)
	s.Live.Stands(house)
	return Made{Stand: live.Stand{At: v.at, House: house, Run: s.Live.Now().Run}, Follows: followsNames[v.follows],
		Answer: v.r.Method == http.MethodPost, Clock: v.clock.Local(v.clock.Reads).Format("15:04")}
}

// A page that asks for itself again by itself says with pageSays what it says now,
// as a digest; where it would be told the same, the answer is short, and stands is
// how things stand.
const (
	pageSays   = "Page-Says"
	pageStands = "Page-Stands"
)

// unattended marks what a page asks by itself: it is nobody's act, and keeps nobody
// signed in.
func unattended(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Header.Get(pageSays) != "" {
			r = r.WithContext(desk.Unattended(r.Context()))
		}
		next.ServeHTTP(w, r)
	})
}

// byItself tells whether a page asks, and nobody who looks at it.
func (v *visit) byItself() bool { return v.r.Header.Get(pageSays) != "" }

// same puts the digest into a page, and answers shortly where the browser has it.
func (v *visit) same(page []byte, made Made) (answered bool, err error) {
	says := digest(page)
	if made.Answer {
		says = "" // no page that is asked for can be the same
	}
	if v.byItself() && says == v.r.Header.Get(pageSays) {
		stands, err := json.Marshal(made.Stand)
		if err != nil {
			return false, fmt.Errorf("web: say how things stand: %w", err)
		}
		v.w.Header().Set(pageStands, string(stands))
		v.w.WriteHeader(http.StatusNoContent)
		return true, nil
	}
	if at := bytes.Index(page, []byte(unread)); at >= 0 {
		copy(page[at:at+len(unread)], says)
	}
	return false, nil
}

// What a page says from its top to the end of its matter; the key of a form and the
// sentence that is shown once are another each time.
var (
	matterBegins = []byte(`<header class="top">`)
	matterEnds   = []byte(`</main>`)
	fleeting     = [...][2][]byte{
		{[]byte(`name="key" value="`), []byte(`"`)},
		{[]byte(`<p class="notice done" role="status">`), []byte("</p>\n")},
	}
)

// digest is of what a page says, as many characters as unread has.
func digest(page []byte) string {
	_, page, _ = bytes.Cut(page, matterBegins)
	page, _, _ = bytes.Cut(page, matterEnds)
	sum := sha256.New()
	for len(page) > 0 {
		cut, rest := len(page), []byte(nil)
		for _, f := range fleeting {
			at := bytes.Index(page[:cut], f[0])
			if at < 0 {
				continue
			}
			if _, after, ok := bytes.Cut(page[at+len(f[0]):], f[1]); ok {
				cut, rest = at, after
			}
		}
		sum.Write(page[:cut])
		page = rest
	}
	return hex.EncodeToString(sum.Sum(nil)[:len(unread)/2])
}
