package counter

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/store"
)

// TestIssuedBySpan: where only the distance of the picks was stated, the angle follows
// from the reach of the sling in hand; one whose legs are shortened, do not span it or
// were never measured stays, and so does one for which the hook has no room.
func TestIssuedBySpan(t *testing.T) {
	ctx := context.Background()
	reach := func(mm quantity.Length) func(*event.Details) {
		return func(d *event.Details) { d.Sling.Reach = mm * quantity.Millimetre }
	}
	shortened := func(d *event.Details) { d.Sling.Reach, d.Sling.Adjustable = 3000*quantity.Millimetre, true }
	for name, row := range map[string]struct {
		change func(*event.Details)
		load   int64
		part   Part
		room   quantity.Length
		want   string
		angle  quantity.Angle // from horizontal, as the gate was asked
	}{
		// Over 2 m legs of 2 m stand at 60°, of 1.9 m at 58.24°; the bench's slings are
		// stamped 12,300 lb at 60° and carry 10,000 lb at 45° (US OSHA, Guidance on Safe
		// Sling Use, table 1).
		"at 60°":                {reach(2000), 12_300, Part{}, 0, "[]", 60_000},
		"a little flatter":      {reach(1900), 10_000, Part{}, 0, "[]", 58_243},
		"and a pound more":      {reach(1900), 10_001, Part{}, 0, "[under-rated]", 58_243},
		"too flat":              {reach(1150), 100, Part{}, 0, "[angle-too-flat]", 29_591},
		"half the span":         {reach(1000), 100, Part{}, 0, "[reach-too-short]", 0},
		"never measured":        {reach(0), 100, Part{}, 0, "[reach-unknown]", 0},
		"room enough":           {reach(2000), 100, Part{}, 1733 * quantity.Millimetre, "[]", 60_000},
		"a millimetre too high": {reach(2000), 100, Part{}, 1732 * quantity.Millimetre, "[reach-too-long]", 60_000},
		"can be shortened":      {shortened, 100, Part{}, 0, "[]", 70_528},
		"is shortened":          {shortened, 100, Part{Shortened: gate.Cradled}, 0, "[lift-incomplete]", 0},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, nil)
			ask := b.loanOf(b.hung("NS-0001", row.change))
			lift := &ask.Lifts[0]
			lift.Lift.Load, lift.Lift.Angle, lift.Lift.Legs, lift.Lift.Centred = quantity.Mass(row.load)*quantity.Pound, nil, 2, true
			lift.Span, lift.Headroom = 2*quantity.Metre, row.room
			ask.Lines[0].Part = row.part
			l, err := b.IssueLoan(ctx, b.as(b.attendant, ""), ask)
			if err != nil {
				t.Fatal(err)
			}
			if got := fmt.Sprint(l.Lines[0].Codes); got != row.want || l.Lines[0].May != (row.want == "[]") {
				t.Fatalf("%s, want %s", got, row.want)
			}
			asked := quantity.Angle(0)
			if q := l.Lines[0].Question; q.Lift != nil && q.Lift.Angle != nil {
				asked = q.Lift.Angle.Size / quantity.MilliDegree
			}
			if asked != row.angle {
				t.Errorf("asked at %d thousandths of a degree, want %d", asked, row.angle)
			}
			story, err := b.st.Story(ctx, event.Sling(l.Lines[0].Sling.ID))
			if err != nil {
				t.Fatal(err)
			}
			went := slices.ContainsFunc(story, func(r store.Record) bool {
				i, ok := r.Body.(event.Issued)
				return ok && i.Line.Span == 2*quantity.Metre && i.Line.Headroom == row.room
			})
			if went != (row.want == "[]") {
				t.Error("the register says otherwise")
			}
		})
	}
}
