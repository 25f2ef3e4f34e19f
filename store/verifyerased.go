package store

import (
	"context"

	"cribgate/core/event"
)

// named tells an erasure that the chain speaks of.
type named struct {
	event.ErasedBody
	told int64
}

// erasures keeps what an event says was erased; see compareErased.
func (v *verifier) erasures(c *checked) {
	b, ok := c.fact.(event.Erased)
	if !ok {
		return
	}
	v.entry(c.envelope.Subject).retell() // what was followed before may have been erased since
	for _, e := range b.Bodies {
		if e.At >= c.pos {
			v.report(c.pos, "it erases position %d, which comes after it", e.At)
			continue
		}
		if v.named == nil {
			v.named = map[int64]named{}
		}
		if _, twice := v.named[e.At]; twice {
			v.report(c.pos, "it erases position %d once more", e.At)
		}
		v.named[e.At] = named{e, c.pos}
	}
}

// compareErased holds the bodies that are gone against what the chain says of
// them: each was erased by a later event of its own story, and nothing else is
// missing.
func (v *verifier) compareErased(ctx context.Context, r Reader) error {
	var list []named
	err := r.eachErased(ctx, func(e Erasure, told int64) error {
		list = append(list, named{event.ErasedBody{At: e.At, Left: e.Left}, told})
		return nil
	})
	if err != nil {
		return err
	}
	for _, e := range list {
		n, ok := v.named[e.At]
		delete(v.named, e.At)
		if !ok {
			v.report(e.At, "its body is gone, and no event says that it was erased")
			continue
		}
		err := eachRow(ctx, r.q, func(w row) error {
			c := checked{row: w}
			switch c.checkEnvelope(); {
			case !c.gone():
				v.report(e.At, "its body was erased at position %d, and is there", n.told)
			case c.err != nil: // told of on the way
			case n.told != e.told || n.Left != e.Left || n.Kind != c.envelope.Kind || n.Schema != c.envelope.Schema:
				v.report(e.At, "what is left of its body is not what position %d says", n.told)
			default:
				v.found.Erased++
			}
			return nil
		}, sqlSince, e.At-1, 1)
		if err != nil {
			return err
		}
	}
	for at, n := range v.named {
		v.report(at, "position %d says that its body was erased, and it was not", n.told)
	}
	return nil
}
