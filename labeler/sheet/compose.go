package sheet

import (
	"fmt"
	"math"

	"cribgate/core/quantity"
	"cribgate/printtemplates"
)

// What crop marks keep of the blanks and of each other. Common practice, no
// source.
const (
	cropClear  = quantity.Millimetre     // between a blank and the marks beside it
	cropLength = 3 * quantity.Millimetre // outside the grid
	cropLeast  = quantity.Millimetre     // between two blanks
)

// Compose puts drawings onto the stock's paper, row by row from cell first on
// (counted from 0), so that a sheet that has been begun can be used up: on the
// first page the cells before it stay empty, without crop marks. A stock
// without paper gives one page for each drawing, of the blank's size.
//
// It refuses, with ErrPaper and the figure, a grid that goes over the edge of
// the paper, blanks that overlap, crop marks that have no room between them,
// and a first cell that the paper does not have.
func Compose(stock printtemplates.Stock, drawings []Drawing, first int) ([]Page, error) {
	p := stock.Paper
	if err := checkPaper(stock, first); err != nil {
		return nil, fmt.Errorf("sheet: compose pages on %s: %w", stock.Name, err)
	}
	var pages []Page
	for len(drawings) > 0 {
		n := min(len(drawings), p.Cells()-first)
		page := Page{Width: p.Width, Height: p.Height, Title: drawings[0].Title}
		if p.Columns == 0 {
			page.Width, page.Height = stock.Width, stock.Height
		}
		if n > 1 {
			page.Title += " to " + drawings[n-1].Title
		}
		for i, d := range drawings[:n] {
			if d.Width != stock.Width || d.Height != stock.Height {
				return nil, fmt.Errorf("sheet: compose pages on %s: %w: %q is %s × %s, the blank %s × %s",
					stock.Name, ErrPaper, d.Title, d.Width, d.Height, stock.Width, stock.Height)
			}
			page.Placed = append(page.Placed, Placed{At: p.Cell(first + i), Drawing: d})
		}
		if p.Crop {
			page.Crop = cropMarks(stock, first, n)
		}
		pages = append(pages, page)
		drawings, first = drawings[n:], 0
	}
	return pages, nil
}

func checkPaper(stock printtemplates.Stock, first int) error {
	p := stock.Paper
	if first < 0 || first >= p.Cells() {
		return fmt.Errorf("%w: cell %d of %d", ErrPaper, first+1, p.Cells())
	}
	if p.Columns == 0 {
		return nil
	}
	for _, side := range []struct {
		name                     string
		paper, first, step, size quantity.Length
		count                    int
	}{
		{"right", p.Width, p.First.X, p.Step.X, stock.Width, p.Columns},
		{"bottom", p.Height, p.First.Y, p.Step.Y, stock.Height, p.Rows},
	} {
		gap := side.step - side.size
		end := side.paper - (side.first + quantity.Length(side.count-1)*side.step + side.size)
		least := cropClear + cropLength
		switch {
		case side.count > 1 && gap < 0:
			return fmt.Errorf("%w: blanks overlap by %s", ErrPaper, -gap)
		case side.first < 0:
			return fmt.Errorf("%w: the first blank is %s over the edge", ErrPaper, -side.first)
		case end < 0:
			return fmt.Errorf("%w: the last blank is %s over the %s edge", ErrPaper, -end, side.name)
		case p.Crop && min(side.first, end) < least:
			return fmt.Errorf("%w: %s from a blank to the edge, and crop marks need %s", ErrPaper, min(side.first, end), least)
		case p.Crop && side.count > 1 && gap > 0 && gap < 2*cropClear+cropLeast:
			return fmt.Errorf("%w: %s between blanks, and crop marks need %s or none", ErrPaper, gap, 2*cropClear+cropLeast)
		}
	}
	return nil
}

// cropMarks draws hairlines in line with the edges of n blanks from cell first
// on: outside the grid, and between blanks that have a gap.
func cropMarks(stock printtemplates.Stock, first, n int) []Path {
	p := stock.Paper
	used := func(column, row int) bool {
		cell := row*p.Columns + column
		return column >= 0 && column < p.Columns && row >= 0 && row < p.Rows && cell >= first && cell < first+n
	}
	across := axis{p.First.X, p.Step.X, stock.Width, p.Columns}
	down := axis{p.First.Y, p.Step.Y, stock.Height, p.Rows}
	var marks []Path
	seen := map[Rect]bool{} // blanks without a gap share their edges
	add := func(r Rect) {
		if !seen[r] {
			seen[r] = true
			marks = append(marks, Rectangle(r))
		}
	}
	for column := range p.Columns {
		for _, x := range across.edges(column) {
			for _, s := range down.stretches(func(row int) bool { return used(column, row) }) {
				add(Rect{pt(x-hairline/2, s[0]), pt(x+hairline/2, s[1])})
			}
		}
	}
	for row := range p.Rows {
		for _, y := range down.edges(row) {
			for _, s := range across.stretches(func(column int) bool { return used(column, row) }) {
				add(Rect{pt(s[0], y-hairline/2), pt(s[1], y+hairline/2)})
			}
		}
	}
	return marks
}

// An axis is one direction of the grid.
type axis struct {
	first, step, size quantity.Length
	count             int
}

// edges are where blank i begins and ends.
func (a axis) edges(i int) [2]quantity.Length {
	at := a.first + quantity.Length(i)*a.step
	return [2]quantity.Length{at, at + a.size}
}

// stretches are where marks may run along a row or column of the grid: before
// its first blank and behind its last where it has a used one, and in a gap
// beside a used one.
func (a axis) stretches(used func(int) bool) [][2]quantity.Length {
	low, high := math.MaxInt, -1
	for i := range a.count {
		if used(i) {
			low, high = min(low, i), i
		}
	}
	if high < 0 {
		return nil
	}
	begin, end := a.edges(0)[0], a.edges(a.count - 1)[1]
	all := [][2]quantity.Length{{begin - cropClear - cropLength, begin - cropClear}}
	for i := range a.count - 1 {
		from, to := a.edges(i)[1]+cropClear, a.edges(i + 1)[0]-cropClear
		if to > from && (used(i) || used(i+1)) {
			all = append(all, [2]quantity.Length{from, to})
		}
	}
	return append(all, [2]quantity.Length{end + cropClear, end + cropClear + cropLength})
}
