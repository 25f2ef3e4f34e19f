package tour

import (
	"errors"
	"fmt"
	"strings"
	"sync"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/demo/crib"
	"cribgate/kiosk/counter"
)

// morning: it goes out for a fitting lift, and comes back.
func (d *day) morning() {
	text := d.samples[newcomer].Text
	d.do(fmt.Sprintf("%s asks for it: 8,000 lb on both legs at 60° from horizontal, centred, back tomorrow.", d.rigger.Name), func() (string, error) {
		o, err := d.asks(text, newcomer, d.rigger, d.lift(8000))
		if err != nil {
			return "", err
		}
		if o.Answer.Allowed != 12_300*quantity.Pound {
			return "", fmt.Errorf("it is allowed %s, its plate says 12,300 lb (US OSHA, Guidance on Safe Sling Use, table 1)", o.Answer.Allowed.InPounds())
		}
		working, err := worked(o.Question)
		if err != nil {
			return "", err
		}
		return figures(o) + "\n" + working, went(o)
	})
	d.do("It is asked for again while it is out.", func() (string, error) {
		o, err := d.asks(text, newcomer, d.other, d.lift(8000))
		if err != nil {
			return "", err
		}
		return stayed(o, gate.AlreadyOut)
	})
	d.do("It comes back: nothing happened.", func() (string, error) { return d.back(newcomer, event.Nothing, "", gate.StateIn) })
	d.do(fmt.Sprintf("%s asks for it for 12,800 lb.", d.other.Name), func() (string, error) {
		o, err := d.asks(text, newcomer, d.other, d.lift(12_800))
		if err != nil {
			return "", err
		}
		return stayed(o, gate.UnderRated)
	})
}

// worked tells how the gate came to its figures, step by step with the clauses.
func worked(q gate.Question) (string, error) {
	answer, err := gate.Explain(q)
	if err != nil {
		return "", err
	}
	var lines []string
	for _, step := range answer.Working {
		lines = append(lines, fmt.Sprintf("  %s: %s (%s)", step.What, step.Figure.Text(quantity.Imperial), step.Source))
	}
	if len(lines) == 0 {
		return "", errors.New("the answer has no working")
	}
	return strings.Join(lines, "\n"), nil
}

// figures tells what the gate compared.
func figures(o counter.Outcome) string {
	return fmt.Sprintf("May go: it needs %s and may carry %s.", o.Answer.Required.InPounds(), o.Answer.Allowed.InPounds())
}

// back has the attendant scan what came back and say what happened.
func (d *day) back(name string, said event.Said, note string, want gate.State) (string, error) {
	sample := d.samples[name]
	o, err := d.kiosk.Counter.Return(d.ctx, d.by(d.attendant, counter.Scanner),
		counter.Reading{Text: sample.Text, Way: counter.Scanner}, counter.Finding{Said: said, Note: note})
	if err != nil {
		return "", err
	}
	if err := went(o); err != nil {
		return "", err
	}
	s, err := d.sling(sample.Ident)
	if err != nil {
		return "", err
	}
	if got := s.Details.Sling.State; got != want {
		return "", fmt.Errorf("it is %s, and should be %s", got, want)
	}
	if want == gate.StateHeld {
		return "Held: " + s.Hold.Reason + ".", nil
	}
	return "It hangs in its place again, " + s.Details.Place + ".", nil
}

// refusals: what must not go out.
func (d *day) refusals() {
	for _, r := range []struct {
		sample, says string
		want         gate.Reason
	}{
		{"overdue", "A sling is scanned whose inspection nobody made in time.", gate.Overdue},
		{"held", "One is scanned that came back yesterday after something happened.", gate.Held},
		{"replaced", "An old tag is scanned that should have been taken off.", gate.TagReplaced},
		{"lapsed", "A tag is scanned that was printed and never confirmed on its sling.", gate.TagLapsed},
		{"forged", "A tag is scanned that somebody made at home.", gate.TagForged},
		{"foreign", "A sound tag of another crib is scanned.", gate.TagNotOurs},
		{"stamp-too-high", "One is scanned whose plate was entered wrong.", gate.StampTooHigh},
		{"never-inspected", "One is scanned that came in its box yesterday.", gate.NeverInspected},
	} {
		d.do(r.says, func() (string, error) {
			sample, ok := d.samples[r.sample]
			if !ok {
				return "", fmt.Errorf("the crib has no sample %s", r.sample)
			}
			l := d.lift(500)
			if s, err := d.sling(sample.Ident); err == nil {
				l.Legs = s.Details.Sling.Legs
			}
			if l.Legs == 1 {
				l.Angle = nil
			}
			o, err := d.asks(sample.Text, sample.Ident, d.rigger, l)
			if err != nil {
				return "", err
			}
			came, err := stayed(o, r.want)
			return strings.TrimSpace(sample.Ident+" "+sample.Short) + "\n" + came, err
		})
	}
}

// race: two counters want one sling at the same moment.
func (d *day) race() {
	d.do(fmt.Sprintf("%s and %s want %s at two counters in the same moment.", d.rigger.Name, d.other.Name, newcomer), func() (string, error) {
		riggers := []crib.Person{d.rigger, d.other}
		outcomes, errs := make([]counter.Outcome, 2), make([]error, 2)
		begin := make(chan struct{})
		var both sync.WaitGroup
		for i := range riggers {
			both.Go(func() {
				<-begin
				outcomes[i], errs[i] = d.asks(d.samples[newcomer].Text, newcomer, riggers[i], d.lift(6000))
			})
		}
		close(begin)
		both.Wait()
		if err := errors.Join(errs...); err != nil {
			return "", err
		}
		won := 0
		if outcomes[1].May {
			won = 1
		}
		if err := went(outcomes[won]); err != nil {
			return "", err
		}
		came, err := stayed(outcomes[1-won], gate.AlreadyOut)
		return riggers[won].Name + " has it. " + riggers[1-won].Name + " is told:\n" + came, err
	})
}

// mishap: it comes back after something happened, and an inspector decides.
func (d *day) mishap() {
	d.do("It comes back, and something happened: the load slipped and was caught.", func() (string, error) {
		return d.back(newcomer, event.Something, "load slipped and was caught", gate.StateHeld)
	})
	d.do("Somebody asks for it.", func() (string, error) {
		o, err := d.asks(d.samples[newcomer].Text, newcomer, d.rigger, d.lift(1000))
		if err != nil {
			return "", err
		}
		return stayed(o, gate.Held)
	})
	release := func(p crib.Person) (counter.Outcome, error) {
		seen, err := d.seen(newcomer)
		if err != nil {
			return counter.Outcome{}, err
		}
		return d.kiosk.Counter.Release(d.ctx, d.by(p, counter.Hand), seen, "both legs looked over link by link, hooks measured")
	}
	d.do(fmt.Sprintf("%s, attendant, tries to release it.", d.attendant.Name), func() (string, error) {
		o, err := release(d.attendant)
		if err != nil {
			return "", err
		}
		return stayed(o, gate.RoleNotAllowed)
	})
	d.do(fmt.Sprintf("%s, inspector, looks it over and releases it, with the reason.", d.inspector.Name), func() (string, error) {
		o, err := release(d.inspector)
		if err != nil {
			return "", err
		}
		if err := went(o); err != nil {
			return "", err
		}
		o, err = d.asks(d.samples[newcomer].Text, newcomer, d.rigger, d.lift(6000))
		if err != nil {
			return "", err
		}
		return figures(o), went(o)
	})
	d.do("It comes back: nothing happened.", func() (string, error) { return d.back(newcomer, event.Nothing, "", gate.StateIn) })
}
