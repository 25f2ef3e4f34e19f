package web

import (
	"context"
	"errors"
	"maps"
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/kiosk/counter"
)

// actOnKept is an act of the page of what a sling is kept for.
func (s *Server) actOnKept(v *visit, name, done string, do doing) error {
	return s.actOn(v, sent{open: name, kept: true}, done, do)
}

// needed reads a line that must not be empty.
func (v *visit) needed(c complaints, name, ask string) string {
	text, complaint := v.line(name, maxPlace)
	if complaint == "" && text == "" {
		complaint = ask
	}
	c.add(name, complaint)
	return text
}

const (
	askHolder = "Say who has it: the chain has no gap."
	askLies   = "Say where it is kept."
)

// second reads who signs beside whoever is signed in, and proves it; it asks for no
// PIN while something else is missing.
func (s *Server) second(v *visit, c complaints, roles event.Roles) (event.PersonID, error) {
	if len(c) > 0 {
		c.add("second-pin", "Type the PIN once more.")
		return event.PersonID{}, nil
	}
	if v.raw("second") == v.who.ID.String() {
		c.add("second", "You sign already. The second is another person.")
		return event.PersonID{}, nil
	}
	who, wrong, wrongPIN, err := s.signs(v, "second", roles)
	c.add("second", wrong)
	c.add("second-pin", wrongPIN)
	return who, err
}

func (s *Server) impound(v *visit) error {
	return s.actOnKept(v, "impound", "is impounded. Lock it away as it is, and hang the slip on it.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		b := event.Impounded{
			Reason: v.reason(c, "impound-reason", "Write what happened."),
			Holder: v.needed(c, "holder", askHolder), Lies: v.needed(c, "lies", askLies),
		}
		var err error
		if b.Second, err = s.second(v, c, event.Attendant|event.Inspector|event.Keeper); err != nil || len(c) > 0 {
			return counter.Outcome{}, err
		}
		return s.Counter.Impound(ctx, who, seen, b)
	})
}

func (s *Server) custody(v *visit) error {
	return s.actOnKept(v, "custody", "is with somebody else from now on; the chain says so.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		b := event.Custody{
			Holder: v.needed(c, "to", askHolder), Lies: v.needed(c, "now-lies", askLies),
			Note: v.reason(c, "why", "Write why it goes to somebody else."),
		}
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		return s.Counter.Custody(ctx, who, seen, b)
	})
}

func (s *Server) free(v *visit) error {
	return s.actOnKept(v, "free", "is freed, and stays held: an inspector looks at it next.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		b := event.Freed{Reason: v.reason(c, "free-reason", "Write why it is not needed any more as it is.")}
		lies := v.place(c, "free-lies")
		var err error
		if b.Second, err = s.second(v, c, partners(v)); err != nil || len(c) > 0 {
			return counter.Outcome{}, err
		}
		return s.Counter.Free(ctx, who, seen, b, lies)
	})
}

func (s *Server) sendOff(v *visit) error {
	return s.actOnKept(v, "send-off", "is off for repair.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		b := event.SentOff{To: v.needed(c, "to", "Say to whom it goes."), Why: v.reason(c, "why", "Write what is to be done.")}
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		return s.Counter.SendOff(ctx, who, seen, b)
	})
}

const noPart = "One of these is no part of this sling. Tick again what was put in anew."

func (s *Server) cameBack(v *visit) error {
	chosen := map[string]bool{}
	return s.actOn(v, sent{open: "came-back", kept: true, chosen: chosen}, v.list().Say("is back, and held: a thorough inspection comes first."), func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		for _, name := range v.r.PostForm["changed"] {
			chosen[name] = true
		}
		b := event.CameBack{Certificate: v.needed(c, "certificate", "Write number and date of the certificate."), Stamp: v.place(c, "stamp"), Note: v.note(c, "back-note")}
		for _, name := range slices.Sorted(maps.Keys(chosen)) {
			p, known := parsePiece(name)
			if !known {
				c.add("changed", noPart)
			}
			b.Changed = append(b.Changed, p)
		}
		lies := v.place(c, "back-lies")
		var err error
		if b.Photo, err = s.photo(v, "picture", c); err != nil || len(c) > 0 {
			return counter.Outcome{}, err
		}
		o, err := s.Counter.ComeBack(ctx, who, seen, b, lies)
		if errors.Is(err, counter.ErrChanged) {
			c.add("changed", noPart)
			return counter.Outcome{}, nil
		}
		return o, err
	})
}

func (s *Server) remedy(v *visit) error {
	no, err := strconv.Atoi(v.raw("no"))
	if err != nil || no < 1 {
		return &Visible{Code: BadInput, Sentence: "The form was sent without which defect it is about.", Next: "Load the page again and do it once more."}
	}
	return s.actOnKept(v, "remedy-"+itoa(no), "has one defect less.", func(ctx context.Context, who counter.Who, seen counter.Seen, c complaints) (counter.Outcome, error) {
		b := event.Remedied{No: no, How: v.reason(c, "how-"+itoa(no), "Write how it was put right.")}
		if len(c) > 0 {
			return counter.Outcome{}, nil
		}
		return s.Counter.Remedy(ctx, who, seen, b)
	})
}

// tellKept puts what is done with a sling that is kept into words.
func (t *Telling) tellKept(body event.Body, w words) {
	switch b := body.(type) {
	case event.Impounded:
		t.Sentence = "Impounded: " + sentenceEnd(b.Reason)
		t.More = append(t.More, "With "+b.Holder+", at "+b.Lies+". "+w.name(b.Second)+" signed as well.")
	case event.Custody:
		t.Sentence = "From then on with " + b.Holder + ", at " + b.Lies + "."
		t.note(b.Note)
	case event.Freed:
		t.Sentence = "Freed, and held: " + sentenceEnd(b.Reason)
		t.More = append(t.More, w.name(b.Second)+" signed as well.")
	case event.SentOff:
		t.Sentence = "Sent off for repair to " + b.To + ": " + sentenceEnd(b.Why)
	case event.CameBack:
		t.Sentence = "Came back from repair, from " + b.From + "."
		t.More = append(t.More, changedWords(b.Changed), "Certificate: "+sentenceEnd(b.Certificate))
		if b.Stamp != "" {
			t.More = append(t.More, "Stamped anew: "+sentenceEnd(b.Stamp))
		}
		t.note(b.Note)
	case event.Remedied:
		t.Sentence = "Defect " + itoa(b.No) + " of an examiner is put right: " + sentenceEnd(b.How)
	}
}

// tellExamined puts what an examiner from outside said into words.
func (t *Telling) tellExamined(b event.Examined, w words) {
	t.Sentence = "Examined by an examiner from outside on " + b.Date.Long() + ": no defect."
	if len(b.Defects) > 0 {
		t.Sentence = "Examined by an examiner from outside on " + b.Date.Long() + ": " + plural(len(b.Defects), "defect") + "."
	}
	for _, d := range b.Defects {
		by := "dangerous now"
		if !d.By.IsZero() {
			by = "to be put right by " + d.By.Long()
		}
		t.More = append(t.More, upperFirst(d.What)+": "+by+".")
	}
	if !b.Due.IsZero() {
		t.More = append(t.More, w.say("Next thorough inspection due ")+b.Due.Long()+".")
	}
	t.note(b.Note)
}
