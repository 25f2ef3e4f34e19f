package lift

import (
	"math"
	"testing"

	"cribgate/core/quantity"
)

// Worked tensions of two equal legs, to the pound (trade charts and a training
// agency's quiz, recomputed; US Army FM 5-125, from memory, not seen).
func TestEvenLeg(t *testing.T) {
	const pound, degree = quantity.Pound, quantity.Degree
	for _, tt := range []struct {
		load  int64
		angle quantity.Angle
		want  float64
	}{
		{10_000, 90 * degree, 5_000},
		{10_000, 60 * degree, 5_773.5},
		{10_000, 45 * degree, 7_071.1},
		{10_000, 30 * degree, 10_000},
		{1_000, 60 * degree, 577.4},
		{1_000, 45 * degree, 707.1},
		{15_000, 48_590 * quantity.MilliDegree, 10_000},
		{1_800, 48_590 * quantity.MilliDegree, 1_200},
	} {
		got := float64(EvenLeg(quantity.Mass(tt.load)*pound, tt.angle)) / float64(pound)
		if math.Abs(got-tt.want) > 0.06 {
			t.Errorf("%d lb at %s from horizontal: %.1f lb each, want %.1f", tt.load, tt.angle, got, tt.want)
		}
	}
	for _, tt := range []struct {
		load  quantity.Mass
		angle quantity.Angle
		want  quantity.Mass
	}{
		{pound, 0, 0},
		{pound, -degree, 0},
		{pound, 90*degree + 1, 0},
		{0, 60 * degree, 0},
		{-pound, 60 * degree, 0},
		{3, 90 * degree, 2}, // rounded up
		{pound, 30 * degree, pound},
		{math.MaxInt64, 1, math.MaxInt64},
	} {
		if got := EvenLeg(tt.load, tt.angle); got != tt.want {
			t.Errorf("%d at %s: %d, want %d", tt.load, tt.angle, got, tt.want)
		}
	}
}

// EvenLeg and Hang say the same of the same legs.
func TestEvenLegIsWhatHangs(t *testing.T) {
	for half := 100; half < 6_000; half += 313 {
		h := Hang(level(half, half, 4_000))
		if h.Fault != Hangs {
			t.Fatalf("picks %d mm out: %s", half, h.Fault)
		}
		load := 1_000 * quantity.Tonne
		got := float64(EvenLeg(load, quantity.Angle(math.Round(h.Legs()[0].Angle*float64(quantity.Degree)))))
		if want := h.Legs()[0].Tension * float64(load); math.Abs(got-want) > 1e-4*want {
			t.Errorf("picks %d mm out: %g, and %g by the geometry", half, got, want)
		}
	}
}
