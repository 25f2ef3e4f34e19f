package grade

import (
	"strings"
	"testing"

	"cribgate/labeler/symbol"
)

// A wrong module spoils its codeword, whatever other modules of it do, and counts in
// its block alone.
func TestWear(t *testing.T) {
	want, err := symbol.Encode(strings.Repeat("CRIBGATE", 8))
	if err != nil {
		t.Fatal(err)
	}
	spoilt := func(words ...int) Wear {
		return WearOf(want, func(column, row int) bool {
			place, ok := symbol.CodewordOf(column, row)
			bad := false
			for _, w := range words {
				bad = bad || ok && place.Word == w
			}
			return want.Dark(column, row) != bad
		})
	}
	first, _, _ := symbol.LevelH.BlockOf(0)
	clean, one, two := spoilt(), spoilt(0), spoilt(0, 4)
	if clean.Wrong != [symbol.Blocks]int{} || one.Wrong[first] != 1 || two.Wrong[first] != 2 {
		t.Errorf("wrong codewords %v, %v, %v", clean.Wrong, one.Wrong, two.Wrong)
	}
	if !one.Worse(clean) || !two.Worse(one) || one.Worse(one) || clean.Worse(two) {
		t.Error("more damage is not worse")
	}
	if spoilt(0, 1).Worse(one) {
		t.Error("one codeword in each of two blocks is worse than one in one block")
	}
}
