package card

import (
	"fmt"
	"strconv"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

const mm = quantity.Millimetre

// A pocket card is of A6, which folds once to a shirt pocket (ISO 216, from
// memory, not seen).
const (
	pocketWidth  = 105 * mm
	pocketHeight = 148 * mm
	pocketMargin = 4 * mm
)

// smallest is the smallest type on either card: an em of 2 mm, 5.7 pt. Smaller
// print does not last on paper that is carried (common practice, no source).
const smallest = 2 * mm

// rule is the width of lines in a table.
const rule = 150 * quantity.Micrometre

func pt(x, y quantity.Length) sheet.Point { return sheet.Point{X: x, Y: y} }

func box(x0, y0, x1, y1 quantity.Length) sheet.Rect {
	return sheet.Rect{Min: pt(x0, y0), Max: pt(x1, y1)}
}

// Draw lays out the two sides, the front first. It fails with one of package
// sheet's errors, and the figure, where a text does not fit.
func (p Pocket) Draw() ([]sheet.Drawing, error) {
	front, err := p.front()
	if err != nil {
		return nil, fmt.Errorf("card: draw the front for %s: %w", p.Ident, err)
	}
	back, err := p.back()
	if err != nil {
		return nil, fmt.Errorf("card: draw the back for %s: %w", p.Ident, err)
	}
	return []sheet.Drawing{front, back}, nil
}

// A side is one side of a pocket card under way.
type side struct {
	*sheet.Builder
	p       Pocket
	left    quantity.Length // edges of the table
	right   quantity.Length
	label   quantity.Length // right edge of the words of its rows
	columns []Column
	notes   notes
}

func (p Pocket) side(number int, columns []Column, label quantity.Length) *side {
	title := fmt.Sprintf("%s, pocket card, side %d", p.Ident, number)
	s := &side{
		Builder: sheet.NewBuilder(title, pocketWidth, pocketHeight, pocketMargin),
		p:       p, columns: columns,
		left: 5 * mm, right: pocketWidth - 5*mm, label: label,
		notes: notes{system: p.Sling.System},
	}
	s.Label(sheet.Label{
		String: "Pocket card, side " + strconv.Itoa(number) + " of 2", Size: 2400, Smallest: smallest,
		At: pt(s.right, 7*mm), Align: printtemplates.Right, Room: 32 * mm,
	})
	return s
}

// column gives the edges of a column.
func (s *side) column(i int) (left, right quantity.Length) {
	n := quantity.Length(len(s.columns))
	at := func(i int) quantity.Length { return s.label + (s.right-s.label)*quantity.Length(i)/n }
	return at(i), at(i + 1)
}

// head draws the names of the columns, their first baseline at y.
func (s *side) head(y quantity.Length) {
	for i, c := range s.columns {
		left, right := s.column(i)
		middle := (left + right) / 2
		s.Label(sheet.Label{String: c.Words, Font: printtemplates.Bold, Size: 2800, Smallest: smallest, At: pt(middle, y), Align: printtemplates.Middle, Room: right - left - mm})
		s.Label(sheet.Label{String: c.From, Size: 2200, Smallest: smallest, At: pt(middle, y+2700), Align: printtemplates.Middle, Room: right - left - mm})
	}
}

// A style says how tall the rows of a table are and how it is set.
type style struct {
	heading, row quantity.Length
	figure       quantity.Length // type of the figures
	both         bool            // the other units too, below
}

// table draws sections from y on and gives where they end.
func (s *side) table(y quantity.Length, sections []Section, k style) quantity.Length {
	for _, section := range sections {
		s.Rule(box(s.left, y, s.right, y+rule))
		s.Label(sheet.Label{
			String: section.Words, Font: printtemplates.Bold, Size: min(2800, k.heading*7/10), Smallest: smallest,
			At: pt(s.left+500, y+k.heading*3/4), Room: s.right - s.left - mm,
		})
		y += k.heading
		for _, row := range section.Rows {
			s.row(y, row, k)
			y += k.row
		}
	}
	s.Rule(box(s.left, y, s.right, y+rule))
	return y + rule
}

func (s *side) row(y quantity.Length, row Row, k style) {
	s.Label(sheet.Label{
		String: row.Words, Size: min(2800, k.row*7/10), Smallest: smallest,
		At: pt(s.left+500, y+k.row/2+700), Room: s.label - s.left - mm,
	})
	if len(row.Cells) == 1 || row.never() {
		s.cell(s.label, s.right, y, row.Cells[0], k)
		return
	}
	for i, c := range row.Cells {
		left, right := s.column(i)
		s.cell(left, right, y, c, k)
	}
}

func (s *side) cell(left, right, y quantity.Length, c Cell, k style) {
	figure := sheet.Label{
		Font: printtemplates.Bold, Size: k.figure, Smallest: smallest,
		At: pt((left+right)/2, y+k.row/2+k.figure*30/100), Align: printtemplates.Middle, Room: right - left - mm,
	}
	if !c.Allowed() {
		figure.String, figure.Font, figure.Size = s.notes.refused(c), printtemplates.Regular, min(k.figure, 2600)
		s.Label(figure)
		return
	}
	lead, other := both(c, s.p.Units)
	figure.String = lead
	if !k.both {
		s.Label(figure)
		return
	}
	figure.At.Y = y + k.row/2 + 200
	s.Label(figure)
	s.Label(sheet.Label{
		String: other, Size: 2300, Smallest: smallest,
		At: pt(figure.At.X, figure.At.Y+2600), Align: printtemplates.Middle, Room: figure.Room,
	})
}

// rowsOf counts the rows of sections.
func rowsOf(sections []Section) quantity.Length {
	n := 0
	for _, s := range sections {
		n += len(s.Rows)
	}
	return quantity.Length(n)
}
