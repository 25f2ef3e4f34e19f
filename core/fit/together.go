package fit

import (
	"slices"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// together makes sets of what fits a lift that takes several slings, and counts as
// near what is too few.
func (c *Choice) together(alike bool, n *nearest) {
	if !alike {
		if len(c.Fits) < c.Takes {
			c.tooFew(c.Fits, n)
			c.Fits = nil
			return
		}
		c.Sets = [][]Offer{c.Fits}
		return
	}
	var groups [][]Offer
	place := make(map[like]int)
	for _, o := range c.Fits {
		key, ok := likeOf(&o.Sling.Plate)
		if !ok { // like none, not even itself
			c.tooFew([]Offer{o}, n)
			continue
		}
		at, known := place[key]
		if !known {
			at, groups = len(groups), append(groups, nil)
			place[key] = at
		}
		groups[at] = append(groups[at], o)
	}
	c.Fits = c.Fits[:0]
	whole := groups[:0]
	for _, g := range groups {
		if len(g) < c.Takes {
			c.tooFew(g, n)
			continue
		}
		whole = append(whole, g)
	}
	// Groups stand in the order of their best; of those that waste alike the one
	// whose last to be taken is better.
	slices.SortStableFunc(whole, func(a, b []Offer) int {
		order, _ := compare(&a[c.Takes-1], &b[c.Takes-1])
		return order
	})
	for _, g := range whole {
		from := len(c.Fits)
		c.Fits = append(c.Fits, g...)
		c.Sets = append(c.Sets, c.Fits[from:len(c.Fits):len(c.Fits)])
	}
}

// like is what one-leg slings have in common that [rating.Alike] finds alike.
type like struct {
	system rating.System
	grade  rating.Grade
	size   rating.Size
	reach  quantity.Length
}

func likeOf(p *rating.Plate) (like, bool) {
	return like{p.System, p.Grade, p.Size, p.Reach}, rating.Alike(p, p)
}

func (c *Choice) tooFew(list []Offer, n *nearest) {
	for _, o := range list {
		n.add(o, miss{wrong: gate.TooFewTogether})
	}
}
