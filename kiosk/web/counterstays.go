package web

import (
	"slices"
	"strings"

	"cribgate/core/gate"
	"cribgate/core/rating"
)

// showReasons makes the plate of a sling that stays: the first reason large, the
// others below it, and what to do about the first.
func (p *CounterPage) showReasons(si sight, w words, about string) {
	p.Plate = Plate{Verdict: StaysHere, Name: about}
	for i, code := range si.codes {
		text := w.reason(code, si.answer, si.sling.Details.Service)
		if code == gate.Held && si.sling.Hold.Reason != "" {
			text.Sentence += " " + upperFirst(si.sling.Hold.Reason) + "."
			if si.sling.Details.Place != "" && keptAt(si.sling) == "" {
				text.Sentence += " It lies at " + si.sling.Details.Place + "."
			}
		}
		if code == gate.Impounded || code == gate.AtRepairer {
			text.Sentence += " " + upperFirst(keptAt(si.sling)) + "."
		}
		if i == 0 {
			p.Plate.Sentence, p.Plate.Rule, p.Plate.InFull, p.Must = text.Sentence, text.Rule, text.InFull, text.Next
			continue
		}
		p.Plate.More = append(p.Plate.More, Reason{Sentence: text.Sentence, Rule: text.Rule, InFull: text.InFull})
	}
	if len(si.codes) == 0 { // never a plate without words, and never one that goes
		text := w.says(gate.NotDecided, si.answer)
		p.Plate.Sentence, p.Plate.Rule, p.Must = text.Sentence, text.Rule, text.Next
	}
}

// showStays adds to the reasons who can help, and what would do instead.
func (s *Server) showStays(v *visit, t *turn, c *card, si sight, p *CounterPage, w words) error {
	p.showReasons(si, w, si.about(w))
	if slices.Contains(si.codes, gate.Held) && keptAt(si.sling) == "" {
		names, err := s.releasers(v)
		if err != nil {
			return err
		}
		if len(names) > 0 {
			p.Must = "Lay it apart from the rack. Who may release it: " + strings.Join(names, ", ") + "."
		}
	}
	if slices.ContainsFunc(si.codes, ofPlate) {
		p.askPlate(c, si)
	}
	p.compareForm(v, c, si)
	p.showHelp(v, si)
	var err error
	if p.Walk, err = s.instead(v, t, si, w); err != nil {
		return err
	}
	p.Walk.First = len(p.Steps) == 0
	if v.may(actIssue) && si.lifted && !slices.ContainsFunc(si.codes, noLiftHelps) {
		l := si.stated.Lift
		a := Action{Label: "Change the lift", Sub: w.lead.Mass(l.Load) + ", " + rating.LegsWords(l.Legs), Path: liftPath}
		if si.stated.Shift {
			a = Action{Label: "State a lift", Sub: "in place of gear for a shift", Path: liftPath}
		}
		p.Steps = append(p.Steps, a)
	}
	return nil
}

// showHelp leads to the page where what stands in the way is dealt with, or says
// who deals with it.
func (p *CounterPage) showHelp(v *visit, si sight) {
	if len(si.codes) == 0 || slices.Contains(si.codes, gate.Held) {
		return
	}
	path := slingPath(si.sling)
	switch si.codes[0] {
	case gate.RegisterBehind:
		if v.may(actCompare) {
			p.Steps = append(p.Steps, Action{Label: "What the register is behind of", Path: comparePath, First: true})
		}
	case gate.Unchecked:
		p.Steps = append(p.Steps, Action{Label: "Look at it now", Sub: "then it is in, or held", Path: slingCheckPath(si.sling), First: true})
	case gate.DefectOpen, gate.DefectBeforeReturn:
		if v.may(actInspect) {
			p.Steps = append(p.Steps, Action{Label: "Record how it was put right", Sub: "opens its own page", Path: keptPath(si.sling), First: true})
		}
	case gate.Lost:
		if v.may(actHold) {
			p.Steps = append(p.Steps, Action{Label: "Report it found", Sub: "opens its own page", Path: path + "#find", First: true})
		}
	case gate.TagReplaced, gate.TagSpoiled, gate.TagLapsed, gate.TagUnconfirmed, gate.TagDatesBehind, gate.TagDisagrees:
		if v.may(actHang) {
			p.Steps = append(p.Steps, Action{Label: "To its tags", Sub: "print, confirm, throw away", Path: path + "/tag", First: true})
		}
		if !v.may(actTag) && si.codes[0] != gate.TagUnconfirmed {
			p.Must += " An inspector or a keeper prints tags."
		}
	}
}

// noLiftHelps tells whether a reason stands against the sling itself, so that it would
// not go for another lift either.
func noLiftHelps(r gate.Reason) bool {
	return slices.Contains([]gate.Reason{
		gate.Held, gate.Impounded, gate.AtRepairer, gate.DefectOpen, gate.Retired, gate.Lost, gate.Unchecked, gate.NeverInspected, gate.NoDueDate, gate.Overdue,
		gate.RatingTagUnfit, gate.NoListedRating, gate.NoStampedRating, gate.StampTooHigh, gate.StampsDisagree, gate.HeatScrapped,
	}, r)
}
