package lift

import (
	"testing"

	"cribgate/core/quantity"

	"pgregory.net/rapid"
)

// A leg, its half span and its rise are the triangles that everybody knows.
func TestSpanAndReach(t *testing.T) {
	for _, tt := range []struct {
		span, reach int
		mdeg        int64 // from horizontal
		rise        int   // mm, rounded up
	}{
		{2000, 2000, 60_000, 1733}, // an equal-sided triangle: the span is the reach; 1,732.05
		{2000, 10_000, 84_260, 9950},
		{6, 5, 53_130, 4}, {8, 5, 36_869, 3}, {10, 13, 67_380, 12}, // 3-4-5 and 5-12-13
		{2000, 1155, 30_025, 578}, {2000, 1154, 29_939, 576}, // both sides of 30°: 1,154.70
		{2000, 1415, 45_031, 1002}, {2000, 1414, 44_991, 1000}, // 1,414.21
	} {
		span, reach := quantity.Length(tt.span)*millimetre, quantity.Length(tt.reach)*millimetre
		a, ok := Lean(span, reach)
		rise, ok2 := Rise(span, reach)
		if !ok || !ok2 || a.MilliDegrees() != tt.mdeg || rise != quantity.Length(tt.rise)*millimetre {
			t.Errorf("span %d, reach %d: %v, rise %v; want %d, %d", tt.span, tt.reach, a, rise, tt.mdeg, tt.rise)
		}
	}
	for _, tt := range []struct{ span, reach quantity.Length }{{2000, 1000}, {2001, 1000}, {0, 1000}, {-1, 1000}, {2000, 0}} {
		_, leans := Lean(tt.span*millimetre, tt.reach*millimetre)
		_, rises := Rise(tt.span*millimetre, tt.reach*millimetre)
		if leans || rises {
			t.Errorf("span %d, reach %d hangs", tt.span, tt.reach)
		}
	}
	if a, ok := Lean(2_000_000, 1_000_001); !ok || a <= 0 {
		t.Errorf("a micrometre longer than half the span: %v, %v", a, ok) // flat, and the gate's to refuse
	}
	if got := Rectangle(3000*millimetre, 4000*millimetre); got != 5000*millimetre {
		t.Errorf("diagonal %v", got)
	}
	if got := Triangle(1000 * millimetre); got != 1155*millimetre { // 1,154.70
		t.Errorf("circle of a triangle %v", got)
	}
	if Rectangle(0, 1) != 0 || Rectangle(1, -1) != 0 || Triangle(0) != 0 {
		t.Error("no sides have a span")
	}
}

// The reach for an angle stands at it or steeper, and a millimetre less does not.
func TestReachForAnAngle(t *testing.T) {
	for _, a := range []quantity.Angle{0, -1, 90 * quantity.Degree} {
		if got, ok := ReachFor(1000*millimetre, a); ok {
			t.Errorf("%v: %v", a, got)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		span := quantity.Length(rapid.Int64Range(10, 20_000).Draw(t, "span")) * millimetre
		want := quantity.Angle(rapid.Int64Range(5_000, 85_000).Draw(t, "angle")) * quantity.MilliDegree
		reach, ok := ReachFor(span, want)
		if !ok {
			t.Fatal("none")
		}
		if got, ok := Lean(span, reach); !ok || got < want {
			t.Fatalf("reach %v over %v stands at %v, not %v", reach, span, got, want)
		}
		if got, ok := Lean(span, reach-millimetre); ok && got > want {
			t.Fatalf("a shorter reach %v over %v stands at %v", reach-millimetre, span, got)
		}
		// Drawn with that reach and angle the picks come out where they were, to rounding.
		if got := SpanFor(reach, want); got < span-2*millimetre || got > span+3*millimetre {
			t.Fatalf("drawn over %v, not %v", got, span)
		}
	})
}

// A training page's impossible example does not close; the same with its legs
// recomputed does. In feet; a thousandth of a foot is a millimetre here.
func TestCloses(t *testing.T) {
	for _, tt := range []struct {
		leg, across, height int
		want                bool
	}{
		{4_000, 2_000, 3_000, false}, {14_000, 10_000, 3_000, false}, // university training page, BAD PRINT
		{3_606, 2_000, 3_000, true}, {10_440, 10_000, 3_000, true},
		{13_000, 5_000, 12_000, true}, {15_000, 9_000, 12_000, true}, // 5-12-13 and 9-12-15
		{13_130, 5_000, 12_000, true}, {13_132, 5_000, 12_000, false}, // a hundredth of 13,131.3
		{0, 0, 0, false}, {-5, 3, 4, false},
	} {
		mm := func(n int) quantity.Length { return quantity.Length(n) * millimetre }
		if got := Closes(mm(tt.leg), mm(tt.across), mm(tt.height)); got != tt.want {
			t.Errorf("leg %d, across %d, height %d closes: %v", tt.leg, tt.across, tt.height, got)
		}
	}
}
