package desk

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
)

// How long a sign-in lasts: NIST SP 800-63B 4.2.3 (from memory, not seen) wants
// a new one after 12 hours, which is a long shift, and after 30 minutes in which
// nothing was done.
const (
	Shift = 12 * time.Hour
	Idle  = 30 * time.Minute
)

// touchEvery is how far a session's end may lag behind its use, so that looking
// at pages does not write to the disk each time.
const touchEvery = time.Minute

const cookieName = "cribgate_desk"

const (
	keyWho    = "who"    // epoch and person
	keyNotice = "notice" // a sentence for the next page
	keyTurn   = "turn"   // what lies on the counter
	keyHeap   = "heap"   // what was taken in of a heap
)

// Sessions are the signed-in browsers. All methods but Wrap need a context of a
// request that came through Wrap.
type Sessions struct {
	desk    *Desk
	manager *scs.SessionManager
	store   *sessionStore
}

// Sessions returns the desk's sessions.
func (d *Desk) Sessions() *Sessions { return d.sessions }

func newSessions(d *Desk, o Options) *Sessions {
	store := &sessionStore{desk: d}
	// Not scs.New, which starts a store of its own with a goroutine that never ends.
	m := &scs.SessionManager{
		Store:            store,
		Codec:            codec{},
		HashTokenInStore: true,
		Lifetime:         Shift,
		IdleTimeout:      Idle,
		Cookie: scs.SessionCookie{
			Name:     cookieName,
			Path:     "/",
			HttpOnly: true,
			SameSite: http.SameSiteStrictMode,
			Secure:   o.Secure,
			Persist:  false, // closing the browser signs out
		},
	}
	return &Sessions{desk: d, manager: m, store: store}
}

// Wrap loads the session of each request and stores what changed, before the
// answer begins. fail answers a request whose session could not be read or written;
// what next answers then is dropped.
func (s *Sessions) Wrap(next http.Handler, fail func(http.ResponseWriter, *http.Request, error)) http.Handler {
	m := *s.manager
	m.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) {
		fail(w, r, err)
		if a, ok := w.(*answer); ok {
			a.failed = true
		}
	}
	wrapped := m.LoadAndSave(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		wrapped.ServeHTTP(&answer{ResponseWriter: w}, r.WithContext(context.WithValue(r.Context(), foundKey, new(found))))
	})
}

// An answer takes nothing more once the session's failure was answered: scs stores
// the session when the handler begins its answer, and then goes on with that.
type answer struct {
	http.ResponseWriter
	failed bool
}

var errFailed = errors.New("desk: the session could not be kept, and that was answered instead")

func (a *answer) WriteHeader(status int) {
	if !a.failed {
		a.ResponseWriter.WriteHeader(status)
	}
}

func (a *answer) Write(b []byte) (int, error) {
	if a.failed {
		return 0, errFailed
	}
	return a.ResponseWriter.Write(b)
}

// Unwrap gives http.ResponseController the way through.
func (a *answer) Unwrap() http.ResponseWriter { return a.ResponseWriter }

// SignIn opens a session for person, whose PIN [Desk.Verify] has just found
// right, under a new token, so that a token planted before is worth nothing.
func (s *Sessions) SignIn(ctx context.Context, person string) error {
	standing, err := s.desk.Standing(ctx, person)
	if err != nil {
		return err
	}
	if err := s.store.prune(ctx); err != nil {
		return err
	}
	if err := s.manager.RenewToken(ctx); err != nil {
		return fmt.Errorf("desk: open a session: %w", err)
	}
	// A shift begins with its sign-in, not with the first page looked at.
	s.manager.SetDeadline(ctx, time.Now().Add(Shift))
	s.manager.Put(ctx, keyWho, strconv.FormatInt(standing.Epoch, 10)+" "+person)
	return nil
}

// SignOut ends the session.
func (s *Sessions) SignOut(ctx context.Context) error {
	if err := s.manager.Destroy(ctx); err != nil {
		return fmt.Errorf("desk: end a session: %w", err)
	}
	return nil
}

// Person returns who is signed in and their standing; "" if nobody is, or if
// the PIN has been set anew since.
func (s *Sessions) Person(ctx context.Context) (string, Standing, error) {
	who := s.manager.GetString(ctx, keyWho)
	if who == "" {
		return "", Standing{}, nil
	}
	epoch, person, _ := strings.Cut(who, " ")
	n, err := strconv.ParseInt(epoch, 10, 64)
	if err != nil {
		return "", Standing{}, fmt.Errorf("desk: session without an epoch: %w", err)
	}
	standing, err := s.desk.Standing(ctx, person)
	if err != nil {
		return "", Standing{}, err
	}
	if !standing.HasPIN || standing.Epoch != n {
		return "", Standing{}, nil
	}
	return person, standing, nil
}

// PutNotice keeps a sentence for the next page of this browser.
func (s *Sessions) PutNotice(ctx context.Context, sentence string) {
	s.manager.Put(ctx, keyNotice, sentence)
}

// TakeNotice returns the sentence kept by PutNotice, once.
func (s *Sessions) TakeNotice(ctx context.Context) string {
	return s.manager.PopString(ctx, keyNotice)
}

// PutTurn keeps what lies on the counter of this browser: who takes slings now,
// for which lift, and which slings were handled. The desk does not read it.
func (s *Sessions) PutTurn(ctx context.Context, text string) { s.manager.Put(ctx, keyTurn, text) }

// Turn returns what PutTurn kept, empty if nothing was.
func (s *Sessions) Turn(ctx context.Context) string { return s.manager.GetString(ctx, keyTurn) }

// PutHeap keeps what this browser has scanned of a heap that came back. The desk
// does not read it.
func (s *Sessions) PutHeap(ctx context.Context, text string) { s.manager.Put(ctx, keyHeap, text) }

// Heap returns what PutHeap kept, empty if nothing was.
func (s *Sessions) Heap(ctx context.Context) string { return s.manager.GetString(ctx, keyHeap) }

// codec writes a session as JSON, so that the same session gives the same bytes.
type codec struct{}

type sessionJSON struct {
	DeadlineMS int64             `json:"deadline_ms"`
	Values     map[string]string `json:"values"`
}

func (codec) Encode(deadline time.Time, values map[string]any) ([]byte, error) {
	out := sessionJSON{DeadlineMS: deadline.UnixMilli(), Values: make(map[string]string, len(values))}
	for k, v := range values {
		text, ok := v.(string)
		if !ok {
			return nil, fmt.Errorf("desk: session value %q is not text", k)
		}
		out.Values[k] = text
	}
	return json.Marshal(out)
}

func (codec) Decode(data []byte) (time.Time, map[string]any, error) {
	var in sessionJSON
	if err := json.Unmarshal(data, &in); err != nil {
		return time.Time{}, nil, fmt.Errorf("desk: read a session: %w", err)
	}
	values := make(map[string]any, len(in.Values))
	for k, v := range in.Values {
		values[k] = v
	}
	return time.UnixMilli(in.DeadlineMS), values, nil
}

// sessionStore keeps sessions in the desk file, for scs.
type sessionStore struct{ desk *Desk }

var _ scs.CtxStore = (*sessionStore)(nil)

// found is what a request's session was when it came. The zero value is none.
type found struct {
	token string
	data  []byte
}

func (s *sessionStore) FindCtx(ctx context.Context, token string) ([]byte, bool, error) {
	var data []byte
	err := s.desk.db.Read.QueryRowContext(ctx, `SELECT data FROM session WHERE token = ? AND expiry_ms > ?`,
		token, time.Now().UnixMilli()).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, fmt.Errorf("desk: find a session: %w", err)
	}
	if f, ok := ctx.Value(foundKey).(*found); ok {
		f.token, f.data = token, data
	}
	return data, true, nil
}

// CommitCtx leaves a session as it is that this request did not change: another may
// have changed it meanwhile, such as by stating the lift about which this one asked.
func (s *sessionStore) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	if isUnattended(ctx) {
		return nil
	}
	if f, ok := ctx.Value(foundKey).(*found); ok && f.token == token && bytes.Equal(f.data, data) {
		if _, err := s.desk.write(ctx, `UPDATE session SET expiry_ms = ?2 WHERE token = ?1 AND abs(?2 - expiry_ms) >= ?3`,
			token, expiry.UnixMilli(), touchEvery.Milliseconds()); err != nil {
			return fmt.Errorf("desk: keep a session alive: %w", err)
		}
		return nil
	}
	_, err := s.desk.write(ctx, `
		INSERT INTO session (token, data, expiry_ms) VALUES (?1, ?2, ?3)
		ON CONFLICT (token) DO UPDATE SET data = excluded.data, expiry_ms = excluded.expiry_ms
		WHERE data <> excluded.data OR abs(excluded.expiry_ms - expiry_ms) >= ?4`,
		token, data, expiry.UnixMilli(), touchEvery.Milliseconds())
	if err != nil {
		return fmt.Errorf("desk: store a session: %w", err)
	}
	return nil
}

func (s *sessionStore) DeleteCtx(ctx context.Context, token string) error {
	if _, err := s.desk.write(ctx, `DELETE FROM session WHERE token = ?`, token); err != nil {
		return fmt.Errorf("desk: delete a session: %w", err)
	}
	return nil
}

// prune forgets sessions that are over.
func (s *sessionStore) prune(ctx context.Context) error {
	if _, err := s.desk.write(ctx, `DELETE FROM session WHERE expiry_ms <= ?`, time.Now().UnixMilli()); err != nil {
		return fmt.Errorf("desk: forget old sessions: %w", err)
	}
	return nil
}

func (s *sessionStore) Find(token string) ([]byte, bool, error) {
	return s.FindCtx(context.Background(), token)
}

func (s *sessionStore) Commit(token string, data []byte, expiry time.Time) error {
	return s.CommitCtx(context.Background(), token, data, expiry)
}

func (s *sessionStore) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }
