// Package lack says which slings a crib lacks.
//
// [Short] takes the lifts of a time, as they were asked: those for which nothing
// went out, and those for which more sling went out than was needed. It gives the
// short list of slings (grade, size, legs, reach) that would have served most of
// them, the first one serving most, each further one most of what is left. What a
// sling would have served is what the gate would have let it go for, as new and
// stamped by the tables.
//
// The first of the list is the best single sling among those looked at, which are the
// smallest that would have served any one of the lifts. The list as a whole is built
// step by step and need not be the best of its length; for what was refused it is
// never less than about 63 % of the best, 1 − 1/e, which holds for any such choice
// (from memory, not seen).
//
// Numbers of the past are no plan: the list supports, and never replaces, whoever
// answers for the crib's gear.
package lack

import (
	"cmp"
	"slices"

	"cribgate/core/fit"
	"cribgate/core/quantity"
)

// Wanted is a lift that was asked for.
type Wanted struct {
	Ask fit.Ask
	// Allowed is what the sling that went out may carry in the lift; 0 where none went.
	Allowed quantity.Mass
}

// Lack is a sling of the list.
type Lack struct {
	Spec   fit.Spec
	Pieces int           // how many of it the largest of those lifts takes
	Served int           // lifts for which nothing went out and that no sling before it on the list serves
	Closer int           // lifts that went out over-served and that it would have served more closely
	Spared quantity.Mass // capacity that those would have wasted less, together
}

// List is what came out. The zero List is of a time in which nothing was lacking.
type List struct {
	Slings  []Lack
	Refused int // lifts for which nothing went out
	Over    int // lifts that went out with more than they needed
	Beyond  int // of Refused, those that no sling of the tables would have served
	Unasked int // lifts that cannot be asked, and were left out
}

// closer is the part of the waste that is left at most where a sling counts as
// serving a lift more closely (site policy, no source).
const closer = 2 // a half

// Short is the list of at most so many slings, of the builds that the crib would
// order. Dates play no part: every lift counts as of one day.
func Short(wanted []Wanted, builds []fit.Build, most int) List {
	var c chooser
	for _, w := range wanted {
		ask := w.Ask
		ask.Now, ask.Lift.ReturnBy = day(), quantity.Date{}
		if ask.Check() != nil {
			c.list.Unasked++
			continue
		}
		c.lifts = append(c.lifts, lift{ask: ask, refused: w.Allowed == 0, waste: max(0, w.Allowed-required(ask))})
	}
	c.candidates(builds)
	c.judge()
	for range most {
		if !c.next() {
			break
		}
	}
	return c.list
}

// day is any one day; what is chosen does not hang on it.
func day() quantity.Date {
	d, _ := quantity.NewDate(2000, 1, 3)
	return d
}

func required(a fit.Ask) quantity.Mass {
	return a.Lift.Load.Times(quantity.Percent(100 + int64(a.Lift.Margin))).Floor()
}

// lift is one lift and how it stands with what has been chosen so far.
type lift struct {
	ask     fit.Ask
	refused bool // and still not served
	waste   quantity.Mass
	by      []offer
}

// offer is a candidate that would serve a lift.
type offer struct {
	spec  int
	waste quantity.Mass
}

type chooser struct {
	lifts []lift
	specs []fit.Spec
	list  List
}

// candidates are the smallest slings that would serve any one of the lifts.
func (c *chooser) candidates(builds []fit.Build) {
	known := map[fit.Spec]bool{}
	for i := range c.lifts {
		for _, b := range builds {
			if spec, ok := c.lifts[i].ask.Smallest(b.System, b.Grade); ok && !known[spec] {
				known[spec] = true
				c.specs = append(c.specs, spec)
			}
		}
	}
	slices.SortFunc(c.specs, func(a, b fit.Spec) int {
		return cmp.Or(cmp.Compare(a.System, b.System), cmp.Compare(a.Grade, b.Grade), cmp.Compare(a.Size.Place(), b.Size.Place()),
			cmp.Compare(a.Legs, b.Legs), cmp.Compare(a.Reach, b.Reach), cmp.Compare(a.Lower, b.Lower), cmp.Compare(a.Inside, b.Inside))
	})
}

// judge asks which candidates would serve each lift.
func (c *chooser) judge() {
	slings := make([]fit.Sling, len(c.specs))
	for i, spec := range c.specs {
		slings[i] = spec.Sling(day()) // all of one identification: a rack keeps their order
	}
	rack := fit.NewRack(slings)
	for i := range c.lifts {
		l := &c.lifts[i]
		if l.refused {
			c.list.Refused++
		} else if l.waste > 0 {
			c.list.Over++
		}
		err := rack.Fitting(l.ask, func(o *fit.Offer) { l.by = append(l.by, offer{o.At, o.Wasted()}) })
		if err == nil && l.refused && len(l.by) == 0 {
			c.list.Beyond++
		}
	}
}

// next takes the candidate that adds most; false where none adds anything.
func (c *chooser) next() bool {
	gains := make([]Lack, len(c.specs))
	for i := range c.lifts {
		l := &c.lifts[i]
		for _, o := range l.by {
			g := &gains[o.spec]
			switch {
			case l.refused:
				g.Served++
			case o.waste < l.waste/closer:
				g.Closer++
				g.Spared += l.waste - o.waste
			default:
				continue
			}
			g.Pieces = max(g.Pieces, l.ask.Lift.Takes())
		}
	}
	best := -1
	for i := range gains {
		if best < 0 || cmp.Or(cmp.Compare(gains[i].Served, gains[best].Served), cmp.Compare(gains[i].Spared, gains[best].Spared)) > 0 {
			best = i // the smallest of several that add alike
		}
	}
	if best < 0 || gains[best].Served == 0 && gains[best].Closer == 0 {
		return false
	}
	gains[best].Spec = c.specs[best]
	c.list.Slings = append(c.list.Slings, gains[best])
	for i := range c.lifts {
		l := &c.lifts[i]
		for _, o := range l.by {
			if o.spec != best {
				continue
			}
			switch {
			case l.refused: // served, and asks for nothing closer
				l.refused, l.waste = false, 0
			case o.waste < l.waste/closer:
				l.waste = o.waste
			}
		}
	}
	return true
}
