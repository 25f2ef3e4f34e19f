package printtemplates

import (
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// Paper is a sheet with a grid of blanks, to be cut apart or taken off. The
// zero Paper is none: what is printed on is the blank itself.
type Paper struct {
	Width, Height quantity.Length
	First         Point // top left corner of the first blank
	Step          Point // from a blank to the next of its row and of its column
	Columns, Rows int
	Crop          bool // marks between the blanks that say where to cut
}

// Cells is how many blanks a sheet has, counted row by row; 1 without paper.
func (p Paper) Cells() int { return max(1, p.Columns*p.Rows) }

// Cell is the top left corner of a blank, counted from 0.
func (p Paper) Cell(n int) Point {
	if p.Columns == 0 {
		return Point{}
	}
	column, row := quantity.Length(n%p.Columns), quantity.Length(n/p.Columns)
	return Point{p.First.X + column*p.Step.X, p.First.Y + row*p.Step.Y}
}

// mostCells bounds a row and a column of a sheet.
const mostCells = 50

func readPaper(o *strict.Object) Paper {
	p := Paper{
		Width:   length(o, "width_um", smallestBlank, largestBlank),
		Height:  length(o, "height_um", smallestBlank, largestBlank),
		First:   Point{length(o, "x_um", 0, largestBlank), length(o, "y_um", 0, largestBlank)},
		Columns: int(o.Int("columns", 1, mostCells)),
		Rows:    int(o.Int("rows", 1, mostCells)),
		Crop:    o.Bool("crop"),
	}
	if p.Columns*p.Rows == 1 {
		return p
	}
	p.Step = Point{length(o, "step_x_um", 0, largestBlank), length(o, "step_y_um", 0, largestBlank)}
	return p
}
