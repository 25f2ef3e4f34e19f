package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"unicode/utf8"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// maxText is the most characters of a written reason or note.
const maxText = 400

// sent is what a form of the sling's page sent and why it was not done. The zero
// value is a page that nobody has filled in yet.
type sent struct {
	open   string // the act whose form stands open
	wrong  complaints
	whole  string // what is wrong with the form as a whole
	stale  bool   // the sling had changed
	heads  []event.Hash
	value  func(name string) string
	kept   bool            // a form of the page of what a sling is kept for
	chosen map[string]bool // what was ticked
	home   string          // rack place at which the sling hung before it was held
}

func (was sent) text(act, name string) string {
	if was.open != act || was.value == nil {
		return ""
	}
	return was.value(name)
}

func (was sent) complaint(act, name string) string {
	if was.open != act {
		return ""
	}
	return was.wrong[name]
}

// An act of the page, as the register does it.
type doing func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error)

// slingForm reads what every form about one sling carries: which sling it is, the
// form's key, and the newest entries of its story that the page showed.
func (s *Server) slingForm(v *visit) (sling state.Sling, key string, heads []event.Hash, err error) {
	if sling, err = s.findSling(v); err != nil {
		return state.Sling{}, "", nil, err
	}
	if key, err = v.key(); err != nil {
		return state.Sling{}, "", nil, err
	}
	heads, err = parseHeads(v.raw("heads"))
	return sling, key, heads, err
}

// actOnSling reads what every form of a sling's page carries, lets do act, and shows
// the sling again: with a notice, or with the form as it was and what is wrong.
func (s *Server) actOnSling(v *visit, name, done string, do doing) error {
	return s.actOn(v, sent{open: name}, done, do)
}

// showAgain shows the page that a form was sent from.
func (s *Server) showAgain(v *visit, status int, sling state.Sling, was sent) error {
	if was.kept {
		return s.renderKept(v, status, sling, was)
	}
	return s.renderSling(v, status, sling, was)
}

func (s *Server) actOn(v *visit, was sent, done string, do doing) error {
	sling, key, heads, err := s.slingForm(v)
	if err != nil {
		return err
	}
	was.wrong, was.heads, was.value = complaints{}, heads, v.raw
	seen := counter.Seen{Sling: sling.ID, Heads: heads}
	outcome, err := do(v.r.Context(), v.by(counter.Hand, key), seen, was.wrong)
	switch {
	case len(was.wrong) > 0:
		return s.showAgain(v, http.StatusUnprocessableEntity, sling, was)
	case err != nil:
		return s.notDone(v, sling, was, err)
	case !outcome.May:
		return s.refused(v, sling, was, outcome.Codes)
	}
	s.notice(v, sling.Details.Ident+" "+done)
	if was.kept {
		return v.redirect(keptPath(sling))
	}
	return v.redirect(slingPath(sling))
}

// refused shows why the counter did not do it.
func (s *Server) refused(v *visit, sling state.Sling, was sent, codes []gate.Reason) error {
	status := http.StatusConflict
	for _, code := range codes {
		text := v.wordsOf(nil).says(code, gate.Answer{})
		switch code {
		case gate.RoleNotAllowed:
			return &Visible{Code: NotAllowed, Sentence: text.Sentence, Next: text.Next}
		case gate.ChangedMeanwhile:
			was.stale = true
			continue
		}
		if was.whole != "" {
			was.whole += " "
		}
		was.whole += text.Sentence + " " + text.Next
	}
	if !was.stale && was.whole == "" {
		return fmt.Errorf("web: %s of a sling was refused without a reason", was.open)
	}
	return s.showAgain(v, status, sling, was)
}

// notDone turns an error of the counter or the register into a sentence, where
// it is one for people.
func (s *Server) notDone(v *visit, sling state.Sling, was sent, err error) error {
	if conflict, ok := errors.AsType[*store.ConflictError](err); ok && conflict != nil {
		was.stale = true
		return s.showAgain(v, http.StatusConflict, sling, was)
	}
	return registerError(err)
}

// text returns a form value of several lines as one: a reason, or a note.
func (v *visit) text(name string, most int) (text, complaint string) {
	raw := strings.Join(strings.Fields(v.raw(name)), " ")
	if !utf8.ValidString(raw) || strings.ContainsFunc(raw, isControl) {
		return "", "This has characters that cannot be used here. Type it by hand."
	}
	if n := utf8.RuneCountInString(raw); n > most {
		return raw, fmt.Sprintf("This is %d characters long; there is room for %d.", n, most)
	}
	return raw, ""
}

// reason reads a text that must not be empty.
func (v *visit) reason(c complaints, name, ask string) string {
	text, complaint := v.text(name, maxText)
	if complaint == "" && text == "" {
		complaint = ask
	}
	c.add(name, complaint)
	return text
}

// place reads where a sling lies or hangs from then on; empty where that is not said.
func (v *visit) place(c complaints, name string) string {
	text, complaint := v.line(name, maxPlace)
	c.add(name, complaint)
	return text
}

// note reads a text that may be empty.
func (v *visit) note(c complaints, name string) string {
	text, complaint := v.text(name, maxText)
	c.add(name, complaint)
	return text
}

func (s *Server) holdSling(v *visit) error {
	return s.actOnSling(v, "hold", "is held. Hang the slip on it, and lay it where held slings lie, as soon as it is here.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		reason := v.reason(c, "hold-reason", "Write why: the inspector starts from it.")
		lies := v.place(c, "hold-lies")
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		return s.Counter.HoldAt(ctx, who, seen, reason, lies)
	})
}

func (s *Server) releaseSling(v *visit) error {
	return s.actOnSling(v, "release", "is released. Hang it back in the rack.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		reason := v.reason(c, "release-reason", "Write what you looked at and why it may go out again.")
		place := v.place(c, "release-place")
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		return s.Counter.ReleaseTo(ctx, who, seen, reason, place)
	})
}

func (s *Server) retireSling(v *visit) error {
	return s.actOnSling(v, "retire", v.list().Say("is retired for good."), func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		reason := v.reason(c, "retire-reason", "Write what is wrong with it.")
		how := v.reason(c, "retire-how", "Write how it was made unusable. Do that first.")
		witness, complaint := v.line("retire-witness", 60)
		c.add("retire-witness", complaint)
		salvage := v.note(c, "retire-salvage")
		photo, err := s.photo(v, "retire-picture", c)
		if err != nil {
			return counter.Outcome{}, err
		}
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		return s.Counter.Retire(ctx, who, seen, event.Retired{Reason: reason, How: how, Witness: witness, Salvage: salvage, Photo: photo})
	})
}

func (s *Server) loseSling(v *visit) error {
	return s.actOnSling(v, "lose", "is reported lost.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		note := v.note(c, "lose-note")
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		return s.Counter.Lose(ctx, who, seen, note)
	})
}

func (s *Server) foundSling(v *visit) error {
	return s.actOnSling(v, "find", "turned up and is held until an inspector has looked at it.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		note := v.note(c, "find-note")
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		return s.Counter.FindAgain(ctx, who, seen, note)
	})
}
