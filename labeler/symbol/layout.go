package symbol

// A Part is what a module of a symbol is there for. The zero Part is Data.
type Part uint8

// The parts of a version 5 symbol (ISO/IEC 18004, from memory, not seen; the
// tests take symbols of an open encoder apart by it).
const (
	Data      Part = iota // a bit of a codeword
	Remainder             // one of the seven bits that no codeword fills
	Finder                // one of the three 7 × 7 corner marks
	Separator             // the light line around a finder
	Timing                // the alternating line in row 6 or column 6
	Alignment             // the 5 × 5 mark at the lower right
	Format                // a bit of either copy of level and mask
	DarkMark              // the one module that is always dark
	Margin                // outside the grid
)

var partNames = [...]string{"data", "remainder", "finder", "separator", "timing", "alignment", "format", "dark mark", "margin"}

// String names the part.
func (p Part) String() string {
	if int(p) < len(partNames) {
		return partNames[p]
	}
	return "unknown"
}

const (
	finderSide = 7
	timingLine = 6
	// alignmentAt is the middle of the only alignment mark of version 5, in both
	// directions.
	alignmentAt = Modules - 7
)

// PartOf says what the module in that column and row is there for.
func PartOf(column, row int) Part {
	if column < 0 || row < 0 || column >= Modules || row >= Modules {
		return Margin
	}
	if p, ok := cornerPart(column, row); ok {
		return p
	}
	switch {
	case column == timingLine || row == timingLine:
		return Timing
	case max(column-alignmentAt, alignmentAt-column) <= 2 && max(row-alignmentAt, alignmentAt-row) <= 2:
		return Alignment
	}
	if _, ok := placeOf(column, row); !ok {
		return Remainder
	}
	return Data
}

// cornerPart is what lies in and around the three finders.
func cornerPart(column, row int) (Part, bool) {
	const far = Modules - finderSide
	left, right := column <= finderSide+1, column >= far-1
	top, bottom := row <= finderSide+1, row >= far-1
	switch {
	case left && top, right && top, left && bottom:
	default:
		return 0, false
	}
	// Distance from the corner that the finder lies in.
	x, y := column, row
	if right {
		x = Modules - 1 - column
	}
	if bottom {
		y = Modules - 1 - row
	}
	switch {
	case x < finderSide && y < finderSide:
		return Finder, true
	case x <= finderSide && y <= finderSide:
		return Separator, true
	case x == timingLine && !right || y == timingLine && !bottom:
		return Timing, true
	case left && top:
		return Format, true
	case right && y == finderSide+1 && x <= finderSide:
		return Format, true
	case bottom && x == finderSide+1 && y == finderSide:
		return DarkMark, true
	case bottom && x == finderSide+1 && y < finderSide:
		return Format, true
	}
	return 0, false
}

// A Place is where a data module stands in the symbol's text of bits.
type Place struct {
	Word int // codeword as drawn, 0 to Codewords - 1
	Bit  int // 7, the highest and first, to 0
}

// Codewords is how many codewords a symbol holds, data and correction together
// (capacity table of an open encoder).
const Codewords = 134

// CodewordOf gives the place of a data module; false for any other.
func CodewordOf(column, row int) (Place, bool) {
	if PartOf(column, row) != Data {
		return Place{}, false
	}
	return placeOf(column, row)
}

// placeOf gives the place of a module that belongs to no fixed pattern; false for
// a remainder bit.
func placeOf(column, row int) (Place, bool) {
	i := zigzag[row][column]
	if i >= 8*Codewords {
		return Place{}, false
	}
	return Place{Word: i / 8, Bit: 7 - i%8}, true
}

// zigzag counts the modules that belong to no fixed pattern in the order in which
// bits are drawn: in pairs of columns from the right, up the first and down the
// next, the right one of a pair first; the timing column counts as none. It is
// computed once and never changes.
var zigzag = func() (order [Modules][Modules]int) {
	n, up := 0, true
	for right := Modules - 1; right > 0; right -= 2 {
		if right == timingLine {
			right--
		}
		for i := range Modules {
			row := i
			if up {
				row = Modules - 1 - i
			}
			for _, column := range [2]int{right, right - 1} {
				if free(column, row) {
					order[row][column] = n
					n++
				}
			}
		}
		up = !up
	}
	return order
}()

// free tells whether no fixed pattern claims the module.
func free(column, row int) bool {
	_, corner := cornerPart(column, row)
	onTiming := column == timingLine || row == timingLine
	onAlignment := max(column-alignmentAt, alignmentAt-column) <= 2 && max(row-alignmentAt, alignmentAt-row) <= 2
	return !corner && !onTiming && !onAlignment
}

// Masked says whether the data mask of that number, 0 to 7, turns the data module
// in that column and row over (ISO/IEC 18004, from memory, not seen; used so by an
// open encoder).
func Masked(mask, column, row int) bool {
	x, y := column, row
	switch mask {
	case 0:
		return (x+y)%2 == 0
	case 1:
		return y%2 == 0
	case 2:
		return x%3 == 0
	case 3:
		return (x+y)%3 == 0
	case 4:
		return (y/2+x/3)%2 == 0
	case 5:
		return x*y%2+x*y%3 == 0
	case 6:
		return (x*y%2+x*y%3)%2 == 0
	default:
		return ((x+y)%2+x*y%3)%2 == 0
	}
}
