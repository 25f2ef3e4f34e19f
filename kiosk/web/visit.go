package web

import (
	"errors"
	"fmt"
	"mime"
	"mime/multipart"
	"net/http"
	"strings"
	"unicode"
	"unicode/utf8"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/kiosk/desk"
	"cribgate/store"
)

// A visit is one request being answered.
type visit struct {
	w        http.ResponseWriter
	r        *http.Request
	id       string // the reference number
	crib     state.Crib
	clock    store.Clock   // held against the register
	today    quantity.Date // in the crib
	head     tagcode.Head  // the same, with its hash
	at       int64         // the register's position before anything was read for the page
	register string        // which one it is
	follows  follows       // what the page is told of
	private  bool          // what was sent must not be shown again, such as a PIN
	who      state.Person  // zero: nobody is signed in
	ended    string        // that the last day of who was signed in is over
	standing desk.Standing
}

// serve finds out who asks, whether they may, and lets the route answer.
func (s *Server) serve(w http.ResponseWriter, r *http.Request, to route) {
	v := &visit{w: w, r: r, id: requestID(r.Context()), follows: to.follows, private: to.act == actNothing || to.act == actSelf}
	if err := s.admit(v, to); err != nil {
		s.fail(v, err)
		return
	}
}

func (s *Server) admit(v *visit, to route) error {
	if err := s.identify(v); err != nil {
		return err
	}
	if err := s.origin.Check(v.r); err != nil {
		return &Visible{Code: Foreign, Cause: err,
			Sentence: "This was sent from a page that is not the kiosk's, and was not done.",
			Next:     "Open the kiosk itself and do it there."}
	}
	signedIn := !v.who.ID.IsZero()
	switch {
	case to.act == actNothing:
	case !signedIn && v.r.Method != http.MethodPost:
		if v.ended != "" {
			s.notice(v, v.ended)
		}
		return v.redirect("/sign-in")
	case !signedIn:
		told, err := s.cutOff(v)
		if err != nil {
			return err
		}
		s.notice(v, strings.TrimSpace(v.ended+" "+told))
		return v.redirect("/sign-in")
	case v.standing.OneTime && to.act != actSelf:
		return v.redirect("/pin")
	case !v.may(to.act):
		return &Visible{Code: NotAllowed,
			Sentence: "Your role does not allow this: " + v.who.Roles.String() + ".",
			Next:     "The people page says who may. Ask one of them."}
	}
	if v.r.Method == http.MethodPost {
		if err := v.readForm(to.body); err != nil {
			return err
		}
		defer v.dropForm()
	}
	return to.serve(s, v)
}

// may tells whether who is signed in may do a.
func (v *visit) may(a act) bool { return a == actNothing || v.who.May(acts[a].who, v.today) }

// identify sets the crib and its day, and who is signed in.
func (s *Server) identify(v *visit) error {
	ctx := v.r.Context()
	var err error
	if v.crib, err = s.Store.Crib(ctx); err != nil {
		return err
	}
	if v.clock, err = s.Store.Clock(ctx); err != nil {
		return err
	}
	v.today = v.clock.Today()
	head, err := s.Store.Head(ctx)
	if err != nil {
		return err
	}
	v.register, v.at, v.head = head.Log.String(), head.At, tagcode.Head{At: head.At, Hash: head.Hash}
	text, standing, err := s.Desk.Sessions().Person(ctx)
	if err != nil || text == "" {
		return err
	}
	id, err := event.ParsePersonID(text)
	if err != nil {
		return fmt.Errorf("web: session: %w", err)
	}
	who, err := s.Store.Person(ctx, id)
	if errors.Is(err, store.ErrNotFound) {
		return nil // the desk has served another register before
	}
	if err != nil {
		return err
	}
	if who.May(everyone, v.today) {
		v.who, v.standing = who, standing
	}
	v.ended = endedSentence(v, who)
	return nil
}

// byScript is the header with which our own script asks to be told where a form
// leads (static/again.js), and leadsTo the one that tells it. The page there is
// loaded as any other is, with the sentence that is shown once.
const (
	byScript = "Form-By-Script"
	leadsTo  = "Form-Leads-To"
)

// redirect sends the browser to path with a GET.
func (v *visit) redirect(path string) error {
	if v.r.Header.Get(byScript) != "" {
		v.w.Header().Set(leadsTo, path)
		v.w.WriteHeader(http.StatusNoContent)
		return nil
	}
	http.Redirect(v.w, v.r, path, http.StatusSeeOther)
	return nil
}

// readForm reads the form that was sent, at most limit bytes.
func (v *visit) readForm(limit int64) error {
	if limit == 0 {
		limit = maxForm
	}
	v.r.Body = http.MaxBytesReader(v.w, v.r.Body, limit)
	kind, _, err := mime.ParseMediaType(v.r.Header.Get("Content-Type"))
	if err == nil && kind == "multipart/form-data" {
		err = v.r.ParseMultipartForm(limit) // so that nothing is put on the disk
	} else {
		err = v.r.ParseForm()
	}
	if _, tooLarge := errors.AsType[*http.MaxBytesError](err); tooLarge {
		return err
	}
	if err != nil {
		return &Visible{Code: BadInput, Cause: err,
			Sentence: "What was sent cannot be read.",
			Next:     "Go back, load the page again and repeat what you did."}
	}
	return nil
}

func (v *visit) dropForm() {
	if v.r.MultipartForm != nil {
		v.r.MultipartForm.RemoveAll() // nothing lies on the disk, so nothing can fail
	}
}

// raw returns a form value just as it was sent, control characters and all.
func (v *visit) raw(name string) string { return v.r.PostForm.Get(name) }

// file returns an uploaded file, nil if none was chosen.
func (v *visit) file(name string) *multipart.FileHeader {
	if v.r.MultipartForm == nil || len(v.r.MultipartForm.File[name]) == 0 {
		return nil
	}
	return v.r.MultipartForm.File[name][0]
}

// line returns a form value as one line of text: spaces trimmed and single. The
// complaint is empty, or a sentence to show at the field.
func (v *visit) line(name string, most int) (text, complaint string) {
	raw := v.raw(name)
	if !utf8.ValidString(raw) || strings.ContainsFunc(raw, isControl) {
		return "", "This has characters that cannot be used here. Type it by hand."
	}
	text = strings.Join(strings.Fields(raw), " ")
	if n := utf8.RuneCountInString(text); n > most {
		return text, fmt.Sprintf("This is %d characters long; there is room for %d.", n, most)
	}
	return text, ""
}

// isControl tells whether a character is no text: a control character, or a mark that
// turns the direction of writing, which could make a note read as another.
func isControl(r rune) bool { return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) }

// by says for the register who acts.
func (v *visit) by(way counter.Way, key string) counter.Who {
	return counter.Who{Person: v.who.ID, Station: stationOf(v.r), Way: way, Key: key}
}
