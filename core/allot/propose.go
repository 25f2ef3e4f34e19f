package allot

import (
	"cmp"
	"fmt"
	"slices"

	"cribgate/core/fit"
	"cribgate/core/quantity"
)

// Proposal is who gets what. The zero Proposal serves nobody.
type Proposal struct {
	Lifts  []Given // in the order of the lifts that were asked
	Served int
	Wasted quantity.Mass // by all lifts together, each sling's part counted to the gram
	Most   bool          // see [Shares.Most]
	Proven bool
}

// Given is what one lift gets, or why it gets nothing.
type Given struct {
	Offers []fit.Offer // the slings; nil where it is not served

	// For a lift that is not served:
	Fit   int        // slings of the rack that fit it
	Taken []int      // lifts that have one of them
	Near  []fit.Miss // slings that nearly fit
	Would []fit.Spec // slings that would do, of the builds that the rack has most of
}

// Propose shares the slings of a rack out to the lifts of a day; near is how many
// slings are listed that nearly fit a lift which is not served. The error names the
// first lift that cannot be asked, from 1, and wraps that of [fit.Ask.Check].
func Propose(r *fit.Rack, lifts []fit.Ask, near int) (Proposal, error) {
	wants, grain, err := wantsOf(r, lifts)
	if err != nil {
		return Proposal{}, err
	}
	s, err := Solve(wants, r.Len(), grain)
	if err != nil {
		return Proposal{}, fmt.Errorf("allot: propose: %w", err)
	}
	p := Proposal{Lifts: make([]Given, len(lifts)), Served: s.Served, Most: s.Most, Proven: s.Proven}
	holds := make(map[int32]int)
	for i, list := range s.Slings {
		for _, c := range list {
			holds[c] = i
			o, ok := r.Offer(lifts[i], int(c))
			if !ok {
				return Proposal{}, fmt.Errorf("allot: propose: sling %s no longer fits lift %d", r.Sling(int(c)).Ident, i+1)
			}
			p.Lifts[i].Offers = append(p.Lifts[i].Offers, o)
			p.Wasted += o.Wasted()
		}
	}
	for i := range lifts {
		if p.Lifts[i].Offers == nil {
			p.Lifts[i] = unserved(r, lifts[i], wants[i], holds, near)
		}
	}
	return p, nil
}

func unserved(r *fit.Rack, ask fit.Ask, w Want, holds map[int32]int, near int) Given {
	g := Given{Fit: len(w.May)}
	for _, pick := range w.May {
		if by, taken := holds[pick.Sling]; taken && !slices.Contains(g.Taken, by) {
			g.Taken = append(g.Taken, by)
		}
	}
	slices.Sort(g.Taken)
	if c, err := r.Choose(ask, near); err == nil { // it was asked before
		g.Near = c.Near
	}
	for _, b := range r.Builds()[:min(2, len(r.Builds()))] {
		if spec, ok := ask.Smallest(b.System, b.Grade); ok {
			g.Would = append(g.Would, spec)
		}
	}
	return g
}

// wantsOf asks which slings fit each lift. What a pick costs is the capacity that it
// wastes, in grams, and among equals its rank: due later, used less, identification.
// Slings that have to be alike take the best rank of their kind, so that one kind
// is not mixed with another for a rank's sake. grain is a gram.
func wantsOf(r *fit.Rack, lifts []fit.Ask) (wants []Want, grain int64, err error) {
	wants = make([]Want, len(lifts))
	most, demand := int64(0), int64(1)
	for _, ask := range lifts {
		demand += int64(ask.Lift.Takes())
	}
	rank := ranks(r)
	kind := make(map[int32]int64)
	for at, place := range rank {
		k := r.Kind(at)
		if best, known := kind[k]; !known || place < best {
			kind[k] = place
		}
	}
	gram := demand*int64(r.Len()) + 1
	var picks []Pick
	for i, ask := range lifts {
		w := Want{Takes: ask.Lift.Takes(), Alike: ask.Lift.Singles}
		picks = picks[:0]
		err := r.Fitting(ask, func(o *fit.Offer) {
			k := r.Kind(o.At)
			tie := rank[o.At]
			if w.Alike && w.Takes > 1 {
				tie = kind[k]
			}
			grams := o.Wasted().Grams()
			most = max(most, grams)
			picks = append(picks, Pick{Sling: int32(o.At), Kind: k, Cost: min(grams, maxGrams/gram)*gram + tie})
		})
		if err != nil {
			return nil, 0, fmt.Errorf("allot: lift %d: %w", i+1, err)
		}
		w.May = slices.Clone(picks)
		wants[i] = w
	}
	if most < maxGrams/gram && most*gram < (maxBig-lcm)/demand-gram {
		return wants, gram, nil
	}
	// The figures are so large that ranks do not fit beside them: waste alone counts.
	for _, w := range wants {
		for j := range w.May {
			w.May[j].Cost /= gram
		}
	}
	return wants, 1, nil
}

// maxGrams keeps the product of waste and gram within 63 bits.
const maxGrams = int64(1) << 61

// ranks orders slings so that wear spreads: due furthest away, least used.
func ranks(r *fit.Rack) []int64 {
	list := make([]int, r.Len())
	for i := range list {
		list[i] = i
	}
	slices.SortFunc(list, func(a, b int) int {
		x, y := r.Sling(a), r.Sling(b)
		return cmp.Or(y.Due.Compare(x.Due), cmp.Compare(x.Issues, y.Issues), cmp.Compare(a, b))
	})
	rank := make([]int64, len(list))
	for place, at := range list {
		rank[at] = int64(place)
	}
	return rank
}
