package grade

import "cribgate/labeler/symbol"

// A Wear is how much of a symbol's error correction a reading took, block by block.
// It says nothing of the print's contrast, so a frame of any camera gives one; blur
// and glare weigh in it as much as wear.
type Wear struct {
	Wrong  [symbol.Blocks]int // codewords that were seen otherwise than printed
	Blocks [symbol.Blocks]symbol.Block
}

// WearOf compares modules as they were seen with the symbol that was printed.
func WearOf(want symbol.Symbol, dark func(column, row int) bool) Wear {
	return Wear{
		Wrong:  wrong(want.Level(), func(column, row int) bool { return dark(column, row) != want.Dark(column, row) }),
		Blocks: want.Level().Blocks(),
	}
}

// Mends tells whether every block can be mended.
func (w Wear) Mends() bool { return w.left() >= 0 }

// Worse tells whether more is used of the worst block than in another reading.
func (w Wear) Worse(o Wear) bool { return w.left() < o.left() }

func (w Wear) left() float64 {
	left := 1.0
	for i, b := range w.Blocks {
		left = min(left, unused(w.Wrong[i], b))
	}
	return left
}
