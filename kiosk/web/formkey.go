package web

import (
	"crypto/rand"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"cribgate/store"
)

// A form that changes something carries a key, under which the register keeps its
// answer: sent again, it gets the first answer and nothing is done a second time.
// The key begins with the day it was made on (UTC, counted from 1970), since the
// register does not keep answers for ever.

// formLife is for how many days a form is taken after it was made: half of the
// time for which its answer is kept at the least (site policy, no source). A day
// lies between the counting of the two.
const formLife = int64(store.AnswersKept / (2 * 24 * time.Hour))

const dayDigits = 5 // enough until the year 2243

func dayOf(t time.Time) int64 { return t.Unix() / (24 * 60 * 60) }

// newKey draws the key of a form.
func newKey() string { return keyOf(dayOf(time.Now())) }

func keyOf(day int64) string { return fmt.Sprintf("%0*d%s", dayDigits, day, rand.Text()) }

// key returns the key of the form, which makes sending it twice the same as once.
func (v *visit) key() (string, error) {
	key := v.raw("key")
	day, err := strconv.ParseInt(key[:min(dayDigits, len(key))], 10, 64)
	if len(key) != len(keyOf(0)) || err != nil {
		return "", &Visible{Code: BadInput, Cause: err,
			Sentence: "The form was sent without its number.",
			Next:     "Go back, load the page again and repeat what you did."}
	}
	// One from a day to come is of a clock that has been put right since.
	if age := dayOf(time.Now()) - day; age > formLife || age < -1 {
		return "", &Visible{Code: Stale,
			Sentence: "This page was loaded too long ago for anything to be taken from it.",
			Next:     "Load it again, and look how things stand before you repeat what you did."}
	}
	return key, nil
}

// arrived tells whether a form with this key was answered before.
func (s *Server) arrived(v *visit) (bool, error) {
	_, known, err := s.Store.Answered(v.r.Context(), v.raw("key"))
	return known, err
}

// unlessArrived is the refusal of a form, and nil for one that was answered before:
// what it did stands in its own way now, and the register gives the first answer.
func (s *Server) unlessArrived(v *visit, refusal *Visible) error {
	arrived, err := s.arrived(v)
	switch {
	case err != nil:
		return err
	case arrived:
		return nil
	}
	return refusal
}

// cutOff is what somebody is told who is not signed in any more and sends a form.
func (s *Server) cutOff(v *visit) (string, error) {
	const lead = "You were signed out meanwhile. "
	if err := v.readForm(maxForm); err != nil {
		return lead + "Sign in, and look how things stand before you do it again.", nil // such as a picture
	}
	defer v.dropForm()
	arrived, err := s.arrived(v)
	if err != nil {
		return "", err
	}
	if arrived {
		return lead + "What you sent had arrived before that, and counts once: sign in and look how things stand.", nil
	}
	return lead + "What you sent was not done: sign in and do it again.", nil
}

// cleared tells whoever sends the form of a card that does not lie on the counter
// any more what became of it.
func (s *Server) cleared(v *visit, key string) error {
	told := &Visible{Code: Stale, Sentence: "The counter was cleared meanwhile, and nothing was done.", Next: "Scan the sling again."}
	switch first, known, err := s.Counter.Before(v.r.Context(), key); {
	case err != nil:
		return err
	case known && first.May:
		told.Sentence = "The counter was cleared meanwhile. What you sent had arrived before that and was done, once."
		told.Next = "Scan the sling again to see how it stands."
	}
	return told
}

// isPIN tells whether a field with that name takes a PIN, which is shown in no page.
func isPIN(name string) bool { return name == "pin" || strings.HasSuffix(name, "-pin") }

// An Again is a form that sends the same once more.
type Again struct {
	Path   string
	Fields []Field
}

// again is the form that asks once more for what ended in code, nil where that is
// of no use, or where something in it must not be shown.
func (v *visit) again(code Code) *Again {
	useful := code == Busy || code == Unusable || code == Unexpected
	if !useful || v.r.Method != http.MethodPost || v.private || v.r.MultipartForm != nil {
		return nil
	}
	if _, err := v.key(); err != nil {
		return nil
	}
	a := &Again{Path: v.r.URL.EscapedPath()}
	for name, values := range v.r.PostForm {
		if isPIN(name) {
			return nil
		}
		for _, value := range values {
			a.Fields = append(a.Fields, Field{Name: name, Value: value})
		}
	}
	slices.SortStableFunc(a.Fields, func(x, y Field) int { return strings.Compare(x.Name, y.Name) })
	return a
}
