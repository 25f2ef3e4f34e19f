package gate_test

import (
	"testing"

	"cribgate/core/gate"
	"cribgate/core/quantity"
)

func TestHowALiftHangsInWords(t *testing.T) {
	at := func(from gate.Reference, degrees quantity.Angle) *gate.Angle {
		return &gate.Angle{From: from, Size: degrees * quantity.Degree}
	}
	for want, l := range map[string]gate.Lift{
		"two legs, straight, 50° from horizontal":         {Legs: 2, Angle: at(gate.FromHorizontal, 50)},
		"one leg, choked":                                 {Legs: 1, Hitch: gate.Choked},
		"two legs, in a basket, 90° between the two legs": {Legs: 2, Hitch: gate.Basket, Angle: at(gate.BetweenLegs, 90)},
		"four legs, straight, 40.5° from vertical":        {Legs: 4, Angle: &gate.Angle{From: gate.FromVertical, Size: 81 * quantity.Degree / 2}},
	} {
		if got := l.Words(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
