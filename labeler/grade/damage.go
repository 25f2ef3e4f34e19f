package grade

import (
	"fmt"

	"cribgate/labeler/symbol"
)

// unused is the share of a block's correction that is left with so many codewords
// wrong: 1 − 2t/d (ISO/IEC 15415, from memory, not seen; the misdecode guard is 0
// for version 5). It is below 0 where more are wrong than can be mended.
func unused(wrong int, b symbol.Block) float64 {
	return 1 - 2*float64(wrong)/float64(b.Correction)
}

// A tally counts the wrong codewords of each block.
type tally [symbol.Blocks]int

// wrong counts the codewords with a module that fails.
func wrong(level symbol.Level, fails func(column, row int) bool) tally {
	var t tally
	var seen [symbol.Codewords]bool
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			place, ok := symbol.CodewordOf(column, row)
			if !ok || seen[place.Word] || !fails(column, row) {
				continue
			}
			seen[place.Word] = true
			if block, _, ok := level.BlockOf(place.Word); ok {
				t[block]++
			}
		}
	}
	return t
}

// worst is the least that is left in a block, and how many codewords of it are
// wrong.
func (t tally) worst(level symbol.Level) (left float64, most int) {
	left = 1
	for i, b := range level.Blocks() {
		if u := unused(t[i], b); u < left {
			left, most = u, t[i]
		}
	}
	return left, most
}

// A proof is what was measured of the modules.
type proof struct {
	want   symbol.Symbol
	cells  *cells
	levels levels
}

// modulation is that of a module, below 0 on the wrong side.
func (p proof) modulation(column, row int) float64 {
	return p.levels.modulation(p.cells.at(column, row), p.want.Dark(column, row))
}

// wrong tells whether a module reads as the other kind.
func (p proof) wrong(column, row int) bool { return p.modulation(column, row) < 0 }

func (p proof) unusedLine() Line {
	t := wrong(p.want.Level(), p.wrong)
	left, most := t.worst(p.want.Level())
	can := p.want.Level().Blocks()[0].Correction / 2
	return Line{
		Parameter: UnusedCorrection, Value: left, Grade: UnusedCorrection.row().scale.of(left),
		Measured: fmt.Sprintf("%.2f: %d of %d codewords that can be mended are wrong in the worst of four blocks", left, most, can),
	}
}

// modulationLine overlays the codewords that fall under each limit on the error
// correction, and takes the best that holds: a grade counts if the correction that
// is left with all codewords below it taken for wrong earns at least as much.
func (p proof) modulationLine() Line {
	best, weak := F, 0
	scale := Modulation.row().scale
	for i, limit := range scale.limits {
		g := A - Grade(i)
		t := wrong(p.want.Level(), func(column, row int) bool { return p.modulation(column, row) < limit })
		left, most := t.worst(p.want.Level())
		if i == 0 {
			weak = most
		}
		best = max(best, min(g, UnusedCorrection.row().scale.of(left)))
	}
	weakest := 1.0
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			if symbol.PartOf(column, row) == symbol.Data {
				weakest = min(weakest, max(p.modulation(column, row), 0))
			}
		}
	}
	return Line{
		Parameter: Modulation, Grade: best, Value: weakest,
		Measured: fmt.Sprintf("%.2f at the weakest module; %d codewords under %.2f in the worst block", weakest, weak, scale.limits[0]),
	}
}

// Segments of the fixed patterns.
const (
	topLeft = iota // finders with their separators
	topRight
	bottomLeft // with the dark mark
	rowTiming
	columnTiming
	alignment
	segments
)

var segmentNames = [segments]string{"top left finder", "top right finder", "bottom left finder", "timing row", "timing column", "alignment mark"}

// segmentOf is the segment of a module of a fixed pattern.
func segmentOf(column, row int) (int, bool) {
	switch symbol.PartOf(column, row) {
	case symbol.Finder, symbol.Separator:
		switch {
		case column > symbol.Modules/2:
			return topRight, true
		case row > symbol.Modules/2:
			return bottomLeft, true
		}
		return topLeft, true
	case symbol.DarkMark:
		return bottomLeft, true
	case symbol.Timing:
		if row == 6 {
			return rowTiming, true
		}
		return columnTiming, true
	case symbol.Alignment:
		return alignment, true
	}
	return 0, false
}

// segmentGrade grades one segment with so many of its modules wrong: 0, 1, 2 or 3 of
// a finder; 0, 7, 11 or 14 % of a timing line; none of the alignment mark, since
// version 5 has only one and a share of the marks is either nothing or all (ISO/IEC
// 18004, annex on quality, from memory, not seen; of two readings the stricter one).
func segmentGrade(segment, wrong, of int) Grade {
	switch segment {
	case rowTiming, columnTiming:
		return scale{[4]float64{0, 7, 11, 14}, false}.of(100 * float64(wrong) / float64(of))
	case alignment:
		if wrong > 0 {
			return F
		}
		return A
	default:
		return scale{[4]float64{0, 1, 2, 3}, false}.of(float64(wrong))
	}
}

// fixedLine takes the worst of the segments.
func (p proof) fixedLine() Line {
	var bad, all [segments]int
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			s, ok := segmentOf(column, row)
			if !ok {
				continue
			}
			all[s]++
			if p.wrong(column, row) {
				bad[s]++
			}
		}
	}
	lowest, at, sum := A, topLeft, 0
	for s := range segments {
		sum += bad[s]
		if g := segmentGrade(s, bad[s], all[s]); g < lowest {
			lowest, at = g, s
		}
	}
	l := Line{Parameter: FixedPattern, Grade: lowest, Value: float64(sum), Measured: "no module wrong"}
	if sum > 0 {
		l.Measured = fmt.Sprintf("%d wrong; the worst is the %s with %d", sum, segmentNames[at], bad[at])
	}
	return l
}

// formatWrong counts the wrong bits of each copy of the format word, the one around
// the top left finder first.
func (p proof) formatWrong() (copies [2]int) {
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			if symbol.PartOf(column, row) != symbol.Format || !p.wrong(column, row) {
				continue
			}
			if column <= 8 && row <= 8 {
				copies[0]++
			} else {
				copies[1]++
			}
		}
	}
	return copies
}

// drawnOtherwise tells whether another encoder drew the symbol, with another mask
// or level: then codewords differ all over, and none of it is damage. Its own format
// bits say so: both copies have more wrong than can be mended, three, and yet the
// symbol was read.
func (p proof) drawnOtherwise() bool {
	copies := p.formatWrong()
	return min(copies[0], copies[1]) > 3
}

// formatLine takes the worse of the two copies.
func (p proof) formatLine() Line {
	bad := p.formatWrong()
	worse := max(bad[0], bad[1])
	return Line{Parameter: FormatBits, Grade: FormatBits.row().scale.of(float64(worse)), Value: float64(worse),
		Measured: fmt.Sprintf("%d and %d of 15 wrong", bad[0], bad[1])}
}

// marginLine counts what is dark in the four modules around.
func (p proof) marginLine() Line {
	dark := 0
	for row := -margin; row < symbol.Modules+margin; row++ {
		for column := -margin; column < symbol.Modules+margin; column++ {
			if symbol.PartOf(column, row) == symbol.Margin && p.wrong(column, row) {
				dark++
			}
		}
	}
	return Line{Parameter: QuietZone, Grade: QuietZone.row().scale.of(float64(dark)), Value: float64(dark),
		Measured: fmt.Sprintf("%d of %d modules of the margin are dark", dark, side*side-symbol.Modules*symbol.Modules)}
}
