package crib

import (
	"fmt"
	"slices"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/kiosk/counter"
)

// draw is one rigger who asks for one sling. Who is refused takes another that
// hangs beside it.
func (p *play) draw(int) error {
	rigger := p.someone(event.Rigger)
	for range 3 {
		s := p.reach()
		if s == nil {
			return nil
		}
		if s.is(gate.StateIn) && !s.first && p.rng.IntN(400) == 0 {
			return p.hold(s)
		}
		gone, err := p.ask(s, rigger)
		if err != nil || gone {
			return err
		}
		p.later(2 * time.Second)
	}
	return nil
}

// reach takes a sling from the rack: mostly one that hangs there, rarely one
// out of quarantine; what is out, lost or retired is not there to be taken.
func (p *play) reach() *sling {
	for range 60 {
		s := p.slings[p.rng.IntN(len(p.slings))]
		switch {
		case s.now.Events == 0 || serial(s) == 0 || s.first && p.days-p.day < 40:
		case s.is(gate.StateIn), s.is(gate.StateHeld) && p.rng.IntN(12) == 0:
			return s
		}
	}
	return nil
}

// hold is an attendant who sees something before handing a sling over.
func (p *play) hold(s *sling) error {
	p.plan(p.next(1+p.rng.IntN(4)), lookAt, s)
	reason := mishaps[len(mishaps)/2+p.rng.IntN(len(mishaps)/2)]
	return p.on(s, p.someone(event.Attendant), counterStation, counter.Scanner, event.Held{Reason: "seen at the counter: " + reason})
}

// ask puts the question and writes what the gate answered.
func (p *play) ask(s *sling, rigger Person) (gone bool, err error) {
	away := choose(p.rng, []share[int]{{48, 0}, {20, 1}, {12, 2}, {8, 4}, {7, 7}, {5, 14}})
	back := p.next(away)
	question := counter.Question(s.now, p.policy, p.today(), nil)
	lift, err := wanted(p.rng, s.details().Sling, question.Policy, p.policy.MarginPct, p.today(), p.start.AddDays(back))
	if err != nil {
		return false, err
	}
	question.Lift = &lift
	answer, err := gate.Decide(question)
	if err != nil {
		return false, fmt.Errorf("ask for %s: %w", s.details().Ident, err)
	}
	verdict, err := recorded(question, answer)
	if err != nil {
		return false, err
	}
	clerk := p.someone(event.Attendant)
	for clerk.ID == rigger.ID {
		clerk = p.someone(event.Attendant)
	}
	codes, typed := p.plate(s, answer)
	if len(codes) > 0 {
		if !s.asked && slices.ContainsFunc(answer.Reasons, plateFault) {
			s.asked = true
			p.plan(p.next(3+p.rng.IntN(10)), mend, s)
		}
		return false, p.on(s, clerk, counterStation, counter.Scanner, event.Refused{Rigger: rigger.ID, Reasons: codes, Verdict: verdict})
	}
	var line event.Line
	if p.days-p.day < withLoans {
		if line, err = p.line(lift); err != nil {
			return false, err
		}
	}
	if !s.first {
		back = p.returnDay(back)
	}
	p.plan(back, bringIn, s)
	return true, p.on(s, clerk, counterStation, counter.Scanner, event.Issued{
		Rigger: rigger.ID, ReturnBy: lift.ReturnBy, Serial: serial(s), Typed: typed, Verdict: verdict, Line: line, Use: event.UseOf(verdict),
	})
}

// plateFault says whether a reason is cured by looking at the plate again.
func plateFault(r gate.Reason) bool {
	return r == gate.StampTooHigh || r == gate.StampsDisagree || r == gate.RatingTagUnfit
}

// plate gives the codes of the gate and, where the plate's characters are asked
// for at random, what was typed; one in fifty reads another sling's plate.
func (p *play) plate(s *sling, a gate.Answer) (codes []string, typed string) {
	for _, r := range a.Reasons {
		codes = append(codes, r.String())
	}
	if len(codes) > 0 || p.policy.AskEvery == 0 || p.rng.IntN(p.policy.AskEvery) > 0 {
		return codes, ""
	}
	if p.rng.IntN(50) == 0 {
		return []string{gate.PlateMismatch.String()}, ""
	}
	return nil, ending(s)
}

// returnDay is when a sling that is promised for a day is really brought in.
func (p *play) returnDay(promised int) int {
	if p.rng.IntN(100) < 92 {
		return promised
	}
	day := promised + 1 + p.rng.IntN(6)
	for !p.workday(day) {
		day++
	}
	return day
}

// recorded spells question and answer as they are kept with a verdict.
func recorded(q gate.Question, a gate.Answer) (event.Verdict, error) {
	question, err := q.MarshalJSON()
	if err != nil {
		return event.Verdict{}, fmt.Errorf("spell a question: %w", err)
	}
	answer, err := a.MarshalJSON()
	if err != nil {
		return event.Verdict{}, fmt.Errorf("spell an answer: %w", err)
	}
	return event.Verdict{Question: string(question), Answer: string(answer), Edition: gate.RulesEdition}, nil
}
