package counter

import (
	"context"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
)

// audited says what the last verification found.
type audited bool

func (a *audited) Broken() bool { return bool(*a) }

// Nothing goes out on the word of a register that does not hold; what is out comes
// back, and what is wrong with a sling is held, all the same.
func TestNothingGoesOutOfABrokenRegister(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	var broken audited
	plain := b.Counter
	b.Counter = plain.Under(&broken)
	out, outText := b.tagged("NS-0417")
	in, inText := b.tagged("NS-0418")
	b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(outText, 100)))

	broken = true
	b.refused2(b.Look(ctx, b.as(b.attendant, ""), b.ask(inText, 100)))(gate.RegisterBroken)
	o := b.refused2(b.Issue(ctx, b.as(b.attendant, ""), b.ask(inText, 100)))(gate.RegisterBroken)
	if o.At == 0 || b.state(in) != gate.StateIn {
		t.Errorf("recorded at %d, the sling is %s", o.At, b.state(in))
	}
	b.must(b.Return(ctx, b.as(b.attendant, ""), Reading{Text: outText, Way: Scanner}, Finding{Said: event.Nothing}))
	b.must(b.Hold(ctx, b.as(b.attendant, ""), b.seen(out), "a link looks bent"))

	broken = false
	b.must(b.Issue(ctx, b.as(b.attendant, ""), b.ask(inText, 100)))
}
