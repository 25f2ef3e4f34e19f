package rating_test

import (
	"testing"

	"cribgate/core/rating"
)

func TestLegsInWords(t *testing.T) {
	for n, want := range map[int][2]string{
		-1: {"-1 legs", "-1 legs"}, 0: {"no legs", "0 legs"}, 1: {"one leg", "1 leg"}, 2: {"two legs", "2 legs"},
		3: {"three legs", "3 legs"}, 4: {"four legs", "4 legs"}, 5: {"5 legs", "5 legs"},
	} {
		if got := rating.LegsWords(n); got != want[0] {
			t.Errorf("%d: %q, want %q", n, got, want[0])
		}
		if got := rating.LegsFigure(n); got != want[1] {
			t.Errorf("%d: %q, want %q", n, got, want[1])
		}
	}
}
