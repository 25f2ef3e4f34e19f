package tour

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/demo/browser"
	"cribgate/demo/crib"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// busy is what a full counter does at its pages: a loan of three slings, one of them
// handed on out there, a heap without its riggers, what they say of it, and a count.
func (d *day) busy(b *browser.Browser) {
	var three []crib.Sample
	d.do(fmt.Sprintf("The badge of %s is scanned, the lift is stated, and three slings are scanned one after the other.", d.other.Name), func() (came string, err error) {
		if three, err = d.spare(3); err != nil {
			return "", err
		}
		if _, err := b.Fill("/counter", "/counter/scan", url.Values{"text": {d.other.Badge}, "way": {"scanner"}}); err != nil {
			return "", err
		}
		if _, err := b.Fill("/counter/lift?anew", "/counter/lift", url.Values{
			"load": {"3000"}, "unit": {"lb"}, "known": {"weighed"}, "special": {"no"}, "hitch": {"straight"}, "legs": {"2"},
			"angle": {"60"}, "centred": {"yes"}, "bears": {"nothing"}, "back": {d.today.AddDays(1).String()},
		}); err != nil {
			return "", err
		}
		for _, s := range three {
			p, err := b.Fill("/counter", "/counter/scan", url.Values{"text": {s.Text}, "way": {"scanner"}})
			if err == nil {
				err = p.Verdict("may-go")
			}
			if err != nil {
				return "", err
			}
			came += s.Ident + " " + p.Text(browser.VerdictWords) + ".\n"
		}
		return came + "Nothing has gone yet.", b.Now().Must(http.StatusOK, "Hand over 3 slings to "+d.other.Name)
	})
	d.do("One press hands all three over.", func() (string, error) {
		if _, err := b.Again("/counter/issue", nil); err != nil {
			return "", err
		}
		return d.slip(b)
	})
	d.do(fmt.Sprintf("Out there %s takes the first of them over, for the same lift.", d.rigger.Name), func() (string, error) {
		at := "/outside/" + three[0].Ident
		if _, err := b.Fill(at, at+"/to", url.Values{"rigger": {d.rigger.ID.String()}}); err != nil {
			return "", err
		}
		if _, err := b.Again(at+"/hand-on", url.Values{"use": {"same"}}); err != nil {
			return "", err
		}
		s, err := d.sling(three[0].Ident)
		if err == nil && s.Loan.Rigger != d.rigger.ID {
			err = fmt.Errorf("%s is not with %s", three[0].Ident, d.rigger.Name)
		}
		return three[0].Ident + " is now " + d.rigger.Name + "’s to bring back.", err
	})
	d.do("At the end of the shift all three lie on the counter, and their riggers have gone home. They are scanned in one run.", func() (string, error) {
		for _, s := range three {
			if _, err := b.Fill("/heap", "/heap/scan", url.Values{"text": {s.Text}, "way": {"scanner"}}); err != nil {
				return "", err
			}
		}
		return "Off their riggers’ names, and cannot go out before somebody has looked at them.", d.allAre(three, gate.StateUnchecked)
	})
	d.do("Each is looked at. Nothing is wrong with any.", func() (string, error) {
		for _, s := range three {
			if _, err := b.Fill("/heap/check", "/heap/check", url.Values{"text": {s.Text}, "way": {"scanner"}}); err != nil {
				return "", err
			}
			if _, err := b.Again("/heap/check/"+s.Ident, b.Now().AllWell("/heap/check/"+s.Ident)); err != nil {
				return "", err
			}
		}
		return "They hang in their places again.", d.allAre(three, gate.StateIn)
	})
	d.do(fmt.Sprintf("%s comes again, and is asked first what happened out there.", d.other.Name), func() (string, error) {
		if _, err := b.Fill("/counter", "/counter/scan", url.Values{"text": {d.other.Badge}, "way": {"scanner"}}); err != nil {
			return "", err
		}
		if err := b.Now().Must(http.StatusOK, "You brought back 2 slings today. What happened out there, with any of them?"); err != nil {
			return "", err
		}
		if _, err := b.Again("/heap/told", b.Now().AllWell("/heap/told")); err != nil {
			return "", err
		}
		return "“Nothing.” " + d.rigger.Name + " is still to be asked about the other one.", d.owed(map[event.PersonID]int{d.other.ID: 0, d.rigger.ID: 1})
	})
	d.do("The rack is counted: two of the three are scanned where they hang, and the count is ended.", func() (string, error) { return d.counts(b, three[:2]) })
}

// spare gives tags of slings in the rack that may go for a light lift on two legs, and
// of which nothing more is asked.
func (d *day) spare(n int) (list []crib.Sample, err error) {
	slings, _, err := d.kiosk.Store.List(d.ctx, store.Query{States: []gate.State{gate.StateIn}, Limit: store.MaxPage})
	if err != nil {
		return nil, err
	}
	for _, s := range slings {
		live, ok := s.Live()
		back := s.Details.Ident == d.samples["good"].Ident // came back at this counter just now, so its plate would be asked for
		if !ok || back || s.Details.Sling.Legs != 2 || s.Details.Sling.Adjustable || len(list) == n {
			continue
		}
		text, err := d.textOf(s, live)
		if err != nil {
			return nil, err
		}
		o, err := d.kiosk.Counter.Look(d.ctx, d.by(d.attendant, counter.Scanner), counter.Ask{
			Reading: counter.Reading{Text: text, Way: counter.Scanner}, Rigger: d.other.ID, Lift: d.lift(3000),
		})
		if err != nil {
			return nil, err
		}
		if o.May {
			list = append(list, crib.Sample{Ident: s.Details.Ident, Text: text})
		}
	}
	if len(list) < n {
		err = fmt.Errorf("only %d slings of the rack may go for a light lift", len(list))
	}
	return list, err
}

// textOf is what the live tag of a sling says.
func (d *day) textOf(s state.Sling, live state.Tag) (string, error) {
	key, err := d.keys.Current(live.Key)
	if err != nil {
		return "", err
	}
	tag, err := s.Tag(live.Key, live.Serial)
	if err != nil {
		return "", err
	}
	sealed, err := tag.Seal(key)
	return sealed.Text(), err
}

// slip tells the newest loan of the other rigger, by the register and by its page.
func (d *day) slip(b *browser.Browser) (string, error) {
	loans, err := d.kiosk.Store.LoansOf(d.ctx, d.other.ID, 1)
	if err != nil || len(loans) == 0 {
		return "", errors.Join(err, fmt.Errorf("%s has %d loans", d.other.Name, len(loans)))
	}
	lines, err := d.kiosk.Store.Loan(d.ctx, loans[0])
	if err != nil || len(lines) != 3 {
		return "", errors.Join(err, fmt.Errorf("the loan has %d lines, not three", len(lines)))
	}
	p, err := b.Get("/loan/" + loans[0].String())
	if err != nil {
		return "", err
	}
	return "One loan of three lines, and one slip for all.", p.Must(http.StatusOK, d.other.Name)
}

// allAre holds slings against a state.
func (d *day) allAre(list []crib.Sample, want gate.State) error {
	for _, each := range list {
		s, err := d.sling(each.Ident)
		if err != nil {
			return err
		}
		if got := s.Details.Sling.State; got != want {
			return fmt.Errorf("%s is %s, not %s", each.Ident, got, want)
		}
	}
	return nil
}

// owed holds against the register about how many slings each rigger is still to be
// asked.
func (d *day) owed(want map[event.PersonID]int) error {
	for who, n := range want {
		list, _, err := d.kiosk.Store.List(d.ctx, store.Query{Owes: who, Limit: store.MaxPage})
		if err != nil {
			return err
		}
		asked := 0
		for _, s := range list {
			if slices.Contains(s.OwedBy(who), d.today) {
				asked++
			}
		}
		if asked != n {
			return fmt.Errorf("still to be asked about %d slings of today, not %d", asked, n)
		}
	}
	return nil
}

// counts counts the rack and tells what came of it.
func (d *day) counts(b *browser.Browser, seen []crib.Sample) (string, error) {
	if _, err := b.Fill("/count", "/count", url.Values{"all": {"yes"}}); err != nil {
		return "", err
	}
	for _, s := range seen {
		if _, err := b.Fill("/count", "/count/scan", url.Values{"text": {s.Text}, "way": {"scanner"}}); err != nil {
			return "", err
		}
	}
	if _, err := b.Fill("/count", "/count/end", url.Values{"note": {"the others tomorrow"}}); err != nil {
		return "", err
	}
	records, err := d.kiosk.Store.Story(d.ctx, event.Crib())
	if err != nil {
		return "", err
	}
	ended, ok := records[len(records)-1].Body.(event.CountEnded)
	if !ok || ended.Tally.Seen != len(seen) {
		return "", fmt.Errorf("the count came to %+v", records[len(records)-1].Body)
	}
	return fmt.Sprintf("Seen %d, not seen %d; nothing else has changed.", ended.Tally.Seen, ended.Tally.NotSeen), nil
}
