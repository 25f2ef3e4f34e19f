package symbol

import "fmt"

// formatMask is what the fifteen format bits are combined with, so that they
// are never all light (ISO/IEC 18004, BCH 15,5, generator 537, mask 5412).
const (
	formatMask      = 0x5412
	formatGenerator = 0x537
)

// readFormat reads both copies of the format bits and returns the level and
// the mask that they state.
func (s *Symbol) readFormat() (Level, int, error) {
	var first, second int
	for i := range 15 {
		if x, y := firstFormatBit(i); s.dark[y][x] {
			first |= 1 << i
		}
		if x, y := secondFormatBit(i); s.dark[y][x] {
			second |= 1 << i
		}
	}
	if first != second {
		return 0, 0, fmt.Errorf("%w: format bits %04X and %04X differ", errGrid, first, second)
	}
	data := (first ^ formatMask) >> 10
	if first != formatBits(data) {
		return 0, 0, fmt.Errorf("%w: format bits %04X do not check", errGrid, first)
	}
	// The two level bits are not in order: L 01, M 00, Q 11, H 10.
	level := [...]Level{'M', 'L', LevelH, LevelQ}[data>>3]
	return level, data & 7, nil
}

// formatBits returns the fifteen bits that stand for five bits of data: two of
// level and three of mask.
func formatBits(data int) int {
	rest := data
	for range 10 {
		rest = rest<<1 ^ rest>>9*formatGenerator
	}
	return (data<<10 | rest) ^ formatMask
}

// firstFormatBit returns the column and row of bit i, counted from the lowest,
// around the finder at the top left.
func firstFormatBit(i int) (x, y int) {
	switch {
	case i < 6:
		return 8, i
	case i < 8: // row 6 is the timing line
		return 8, i + 1
	case i == 8:
		return 7, 8
	default:
		return 14 - i, 8
	}
}

// secondFormatBit returns the column and row of bit i in the copy that is
// split between the other two finders.
func secondFormatBit(i int) (x, y int) {
	if i < 8 {
		return Modules - 1 - i, 8
	}
	return 8, Modules - 15 + i
}
