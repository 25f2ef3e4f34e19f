package resemble

import "cribgate/labeler/symbol"

// A Grid is what a picture shows of a symbol's modules, by column and row from its top
// left. A scan.Grid is one.
type Grid interface {
	Modules() int                       // on each side
	Light(column, row int) uint8        // 0 dark, 255 light, the surer the farther from 128
	Known(column, row int) (known bool) // false where glare or grease hide it
}

// A Sum is a grid that adds up several frames of what is held before a camera.
type Sum interface {
	Grid
	Newest() Grid // of the last of them alone
}

// A turn is one of the ways in which a symbol may lie in its grid: quarter turns, and
// seen in a mirror from 4 on.
type turn uint8

// from gives where in the grid a module of the upright symbol lies.
func (t turn) from(column, row int) (c, r int) {
	if t >= 4 {
		column, row = row, column
	}
	for range t % 4 {
		column, row = symbol.Modules-1-row, column
	}
	return column, row
}

// Upright is a grid as its symbol is meant to be seen.
type Upright struct {
	Grid
	turn turn
}

// Light is that of the module of the upright symbol.
func (u Upright) Light(column, row int) uint8 { return u.Grid.Light(u.turn.from(column, row)) }

// Known is that of the module of the upright symbol.
func (u Upright) Known(column, row int) bool { return u.Grid.Known(u.turn.from(column, row)) }

// Dark is what the module of the upright symbol looks like.
func (u Upright) Dark(column, row int) bool { return u.Light(column, row) < 128 }

// A face is the modules of a grid, once it is known which of them say anything.
type face struct {
	dark, known [symbol.Modules][symbol.Modules]bool
}

// flat is how wide a square of one colour is that no symbol has, bar one in thirty:
// whatever is laid over it looks so, and then its modules say nothing. Which they are
// hangs on the grid alone.
const flat = 4

func faceOf(g Grid) *face {
	f := &face{}
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			f.known[row][column] = g.Known(column, row)
			f.dark[row][column] = g.Light(column, row) < 128
		}
	}
	covered := [symbol.Modules][symbol.Modules]bool{}
	for row := range symbol.Modules - flat + 1 {
		for column := range symbol.Modules - flat + 1 {
			if !f.flatAt(column, row) {
				continue
			}
			for r := row; r < row+flat; r++ {
				for c := column; c < column+flat; c++ {
					covered[r][c] = true
				}
			}
		}
	}
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			f.known[row][column] = f.known[row][column] && !covered[row][column]
		}
	}
	return f
}

func (f *face) flatAt(column, row int) bool {
	for r := row; r < row+flat; r++ {
		for c := column; c < column+flat; c++ {
			if f.dark[r][c] != f.dark[row][column] {
				return false
			}
		}
	}
	return true
}

// A view is the data modules of a face in one turn.
type view struct {
	turn        turn
	dark, known pattern
	surest      []int // the known modules, the surest first; nil until sorted
}

func (f *face) view(t turn) (v view) {
	v.turn = t
	for i, at := range places {
		c, r := t.from(at.column, at.row)
		if !f.known[r][c] {
			continue
		}
		v.known[i%words] |= 1 << (i / words)
		if f.dark[r][c] {
			v.dark[i%words] |= 1 << (i / words)
		}
	}
	return v
}
