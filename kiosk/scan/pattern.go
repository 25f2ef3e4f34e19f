package scan

import "github.com/makiuchi-d/gozxing/qrcode/decoder"

// A fixed is a module that says the same in every symbol of a version.
type fixed struct {
	x, y  float64 // its middle, in modules
	light int     // 1, or -1 for dark
}

// A pattern is what a version of symbol looks like before anything is written into
// it. It is never changed once made.
type pattern struct {
	version *decoder.Version
	modules int
	// The fixed modules: the finders and the light line around each, the timing
	// lines, the alignment marks and, from version 7, the version's number.
	finders, timing, alignment, number []fixed
	// cells are the modules that are written into, in the order of the bits.
	cells []cell
}

// A cell is a module's place.
type cell struct{ column, row int16 }

// fixed is how many modules are.
func (p *pattern) fixed() int {
	return len(p.finders) + len(p.timing) + len(p.alignment) + len(p.number)
}

// patternOf makes the pattern of a version, 1 to 40, after ISO/IEC 18004 (from
// memory, not seen; the tests read symbols of an open encoder of every version).
func patternOf(number int) (*pattern, error) {
	version, err := decoder.Version_GetVersionForNumber(number)
	if err != nil {
		return nil, err
	}
	n := version.GetDimensionForVersion()
	p := &pattern{version: version, modules: n}
	taken := make([]bool, n*n)
	put := func(to *[]fixed, column, row int, dark bool) {
		f := fixed{x: float64(column) + 0.5, y: float64(row) + 0.5, light: 1}
		if dark {
			f.light = -1
		}
		*to = append(*to, f)
		taken[row*n+column] = true
	}
	for _, corner := range [...]cell{{0, 0}, {int16(n - 7), 0}, {0, int16(n - 7)}} {
		for y := -1; y <= 7; y++ {
			for x := -1; x <= 7; x++ {
				column, row := int(corner.column)+x, int(corner.row)+y
				if column < 0 || row < 0 || column >= n || row >= n {
					continue
				}
				ring := max(x-3, 3-x, y-3, 3-y)
				put(&p.finders, column, row, ring != 2 && ring != 4)
			}
		}
	}
	centres := version.GetAlignmentPatternCenters()
	for i, cy := range centres {
		for j, cx := range centres {
			if last := len(centres) - 1; i == 0 && (j == 0 || j == last) || i == last && j == 0 {
				continue // a finder is there
			}
			for y := -2; y <= 2; y++ {
				for x := -2; x <= 2; x++ {
					put(&p.alignment, cx+x, cy+y, max(x, -x, y, -y) != 1)
				}
			}
		}
	}
	for i := 8; i < n-8; i++ {
		for _, c := range [...]cell{{int16(i), 6}, {6, int16(i)}} {
			if !taken[int(c.row)*n+int(c.column)] {
				put(&p.timing, int(c.column), int(c.row), i%2 == 0)
			}
		}
	}
	if number >= 7 {
		bits := decoder.VERSION_DECODE_INFO[number-7]
		for i := range 18 {
			dark := bits>>i&1 == 1
			put(&p.number, n-11+i%3, i/3, dark)
			put(&p.number, i/3, n-11+i%3, dark)
		}
	}
	for i := range 9 { // level and mask, both copies, and the module that is always dark
		taken[8*n+i], taken[i*n+8] = true, true
		if i < 8 {
			taken[8*n+n-1-i], taken[(n-1-i)*n+8] = true, true
		}
	}
	p.cells = cellsOf(n, taken)
	return p, nil
}

// cellsOf lists the modules that are written into: in pairs of columns from the
// right, up the first and down the next, the right one of a pair first; the
// column of the timing line counts as none.
func cellsOf(n int, taken []bool) []cell {
	cells := make([]cell, 0, n*n)
	up := true
	for right := n - 1; right > 0; right -= 2 {
		if right == 6 {
			right--
		}
		for i := range n {
			row := i
			if up {
				row = n - 1 - i
			}
			for _, column := range [...]int{right, right - 1} {
				if !taken[row*n+column] {
					cells = append(cells, cell{int16(column), int16(row)})
				}
			}
		}
		up = !up
	}
	return cells
}
