package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"

	"cribgate/core/tagcode"
)

// liftSent reads what was sent from the lift page, and what is missing or wrong with it.
func liftSent(v *visit) (liftForm, complaints) {
	form, wrong := liftForm{}, complaints{}
	for _, name := range liftFields() {
		text, complaint := v.line(name, 40)
		form[name] = text
		wrong.add(name, complaint)
	}
	_, missing := form.read(v.liftTerms())
	for name, sentence := range missing {
		if wrong[name] == "" {
			wrong.add(name, sentence)
		}
	}
	if kind, _ := tagcode.KindOf(v.raw("load")); kind != tagcode.NoKind {
		form["load"] = ""
		wrong["load"] = "A scanned " + kind.String() + " stood here, and no load. Type the load."
	}
	return form, wrong
}

// What the buttons of the lift page do besides stating the lift.
const (
	doShow  = "show"  // say what would do
	doWeigh = "weigh" // take the estimate as the load
)

// onlySees answers what states no lift yet: what would do, or what a load weighs by its
// size. Without a script it is the way to see either.
func (s *Server) onlySees(v *visit, t *turn, n int, form liftForm, wrong complaints) (answered bool, err error) {
	switch v.raw("do") {
	case doWeigh:
		wrong := complaints{}
		form.take(form.estimate(wrong, v.wordsOf(nil)))
		return true, s.renderLift(v, http.StatusOK, t, n, form, wrong)
	case doShow:
		if len(wrong) > 0 {
			return false, nil
		}
		seen, err := s.seeLiftFor(v, form)
		if err != nil {
			return true, err
		}
		return true, s.renderLiftWith(v, http.StatusOK, t, n, form, nil, LoadDoubt{}, seen)
	}
	return false, nil
}

// stateLift keeps the lift and asks about the slings that are for it, or shows at
// each field what is missing.
func (s *Server) stateLift(v *visit) error {
	key, err := v.key()
	if err != nil {
		return err
	}
	t := s.turn(v)
	n, _ := strconv.Atoi(v.raw("number")) // anything else is one more
	form, wrong := liftSent(v)
	if answered, err := s.onlySees(v, t, n, form, wrong); answered || err != nil {
		return err
	}
	if len(wrong) > 0 {
		return s.renderLift(v, http.StatusUnprocessableEntity, t, n, form, wrong)
	}
	if who := v.raw("who"); who != "" && who != t.Rigger {
		rigger, err := s.rigger(v, t)
		if err != nil {
			return err
		}
		wrong["who"] = "Somebody else takes slings now: " + rigger.Name + ". Look at the lift again before you send it."
		return s.renderLift(v, http.StatusUnprocessableEntity, t, 0, form, wrong)
	}
	if again, err := s.doubtLoad(v, t, n, form); again || err != nil {
		return err
	}
	if t.Fetching, err = s.taken(v); err != nil {
		return err
	}
	t.state(n, purpose{Lift: form})
	return s.askFor(v, t, t.Now, key)
}

// answerLift answers what is typed on the lift page while it is typed. Nothing is kept
// of it.
func (s *Server) answerLift(v *visit) error {
	form, wrong := liftSent(v)
	p := &LiftPage{Action: liftPath, Seen: &LiftSeen{}, MayTake: v.may(actIssue)}
	s.forCounter(v, p)
	if len(wrong) > 0 { // of what was sent, such as characters that are none
		p.Seen.Head, p.Seen.Missing = notWhole, missing(wrong)
	} else {
		seen, err := s.seeLiftFor(v, form)
		if err != nil {
			return err
		}
		p.Seen = seen
	}
	p.Estimate = form.estimate(complaints{}, v.wordsOf(nil))
	stands, err := json.Marshal(s.madeFrom(v).Stand)
	if err != nil {
		return fmt.Errorf("web: say how things stand: %w", err)
	}
	v.w.Header().Set(pageStands, string(stands))
	return s.renderPart(v, "lift", "lift-live", p)
}

// askFor asks about every sling that waits for a purpose, after it was stated, and
// leads to the newest. One that stays is asked about only where it lies in front: the
// others may hang on their pegs again.
func (s *Server) askFor(v *visit, t *turn, n int, key string) error {
	for i := len(t.Cards) - 1; i >= 0; i-- {
		c := &t.Cards[i]
		if !c.waits() || c.For != n && c.For != 0 || c.Edge == StaysHere && i > 0 {
			continue
		}
		if err := s.ask(v, t, c, key+"."+strconv.Itoa(c.N)); err != nil {
			return err
		}
	}
	return s.toCard(v, t, t.newest())
}
