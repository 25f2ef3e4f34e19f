package sheet

import (
	"errors"
	"fmt"
	"strconv"

	"cribgate/core/quantity"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// Content is what is printed on one tag.
type Content struct {
	Symbol    symbol.Symbol
	Facts     map[printtemplates.Word]string
	Due       quantity.Date // its month and year marks are filled; zero fills none
	FirstYear int           // number of the first year mark; 0 leaves the year marks without numbers
}

// Why a tag is not laid out. Each comes wrapped in a sentence with its figures.
var (
	ErrFit     = errors.New("text does not fit")
	ErrGlyph   = errors.New("font has no such letter")
	ErrModule  = errors.New("module too small for the stock")
	ErrOverlap = errors.New("things on the tag touch")
	ErrEdge    = errors.New("too near to the edge of the blank")
	ErrYear    = errors.New("due year has no mark")
)

// typeStep is what a type size is shrunk by, so that like tags look alike.
const typeStep = 50 * quantity.Micrometre

// A layout is a drawing under way.
type layout struct {
	stock printtemplates.Stock
	out   Drawing
	taken []cover
}

// Layout places content on a stock. On error, one of this package's Err values
// with its figures, the Drawing is zero.
func Layout(stock printtemplates.Stock, content Content) (Drawing, error) {
	l := layout{stock: stock, out: Drawing{
		Title: content.Facts[printtemplates.ID],
		Width: stock.Width, Height: stock.Height,
	}}
	for _, step := range []func(Content) error{l.symbol, l.fields, l.marks} {
		if err := step(content); err != nil {
			return Drawing{}, fmt.Errorf("sheet: lay out %q on %s: %w", l.out.Title, stock.Name, err)
		}
	}
	l.blank()
	if err := l.check(); err != nil {
		return Drawing{}, fmt.Errorf("sheet: lay out %q on %s: %w", l.out.Title, stock.Name, err)
	}
	return l.out, nil
}

// symbol fills the stock's square with modules of whole micrometres.
func (l *layout) symbol(c Content) error {
	place := l.stock.Symbol
	module := place.Side / quantity.Length(symbol.Modules+2*place.QuietZone)
	if module < place.Smallest {
		return fmt.Errorf("%w: %s, at least %s", ErrModule, module, place.Smallest)
	}
	inset := (place.Side - symbol.Modules*module) / 2
	l.out.Symbol = Symbol{
		Symbol:   c.Symbol,
		At:       pt(place.At.X+inset, place.At.Y+inset),
		Module:   module,
		Smallest: place.Smallest,
	}
	l.take("quiet zone of the symbol", Rect{place.At, pt(place.At.X+place.Side, place.At.Y+place.Side)})
	return nil
}

func (l *layout) fields(c Content) error {
	for _, f := range l.stock.Fields {
		text := f.Text(c.Facts)
		if text == "" {
			continue
		}
		err := l.text(text, f.Font, f.Size, f.Smallest, f.Width, func(width, _ quantity.Length) Point {
			switch f.Align {
			case printtemplates.Middle:
				return pt(f.At.X-width/2, f.At.Y)
			case printtemplates.Right:
				return pt(f.At.X-width, f.At.Y)
			default:
				return f.At
			}
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// text sets one line, no larger than size and no wider than room. begin says
// where its baseline begins, from its width and the height of its figures.
func (l *layout) text(text string, f printtemplates.Font, size, smallest, room quantity.Length, begin func(width, height quantity.Length) Point) error {
	s, err := shapeOf(text, f)
	if err != nil {
		return err
	}
	if most := s.largest(room); most < size {
		size = max(most-most%typeStep, min(most, smallest))
	}
	if size < smallest {
		return fmt.Errorf("%w: %q needs %s in its smallest type of %s and has %s", ErrFit, text, s.width(smallest), smallest, room)
	}
	at := begin(s.width(size), -s.ink(size, pt(0, 0)).Min.Y)
	ink := s.ink(size, at)
	l.out.Texts = append(l.out.Texts, Text{
		String: text, Font: f, Size: size, At: at, Width: s.width(size), Ink: ink,
	})
	l.take(strconv.Quote(text), ink)
	return nil
}

func (l *layout) marks(c Content) error {
	m := l.stock.Marks
	year, month, _ := c.Due.YMD()
	if c.Due.IsZero() {
		year, month = 0, 0
	} else if last := c.FirstYear + len(m.Years) - 1; len(m.Years) > 0 && c.FirstYear > 0 && (year < c.FirstYear || year > last) {
		return fmt.Errorf("%w: %d is not from %d to %d", ErrYear, year, c.FirstYear, last)
	}
	for i, mark := range m.Months {
		if err := l.mark(mark, strconv.Itoa(i+1), i+1 == month); err != nil {
			return err
		}
	}
	for i, mark := range m.Years {
		label := ""
		if c.FirstYear > 0 {
			label = strconv.Itoa(c.FirstYear + i)
		}
		if err := l.mark(mark, label, label != "" && c.FirstYear+i == year); err != nil {
			return err
		}
	}
	return nil
}

// mark draws a ring with its number, both filled out where it is the due one.
func (l *layout) mark(mark printtemplates.Mark, label string, due bool) error {
	m := l.stock.Marks
	radius, face := m.Ring/2, printtemplates.Regular
	path := ring(mark.Ring, radius, radius-m.Line)
	if due {
		path, face = circle(mark.Ring, radius), printtemplates.Bold
	}
	l.out.Ink = append(l.out.Ink, Area{Path: path})
	l.takeCircle("mark "+label, mark.Ring, radius)
	if label == "" {
		return nil
	}
	return l.text(label, face, m.Size, m.Smallest, mark.Width, func(width, height quantity.Length) Point {
		return pt(mark.Label.X-width/2, mark.Label.Y+height/2)
	})
}

// hairline is the width of the lines that show the blank.
const hairline = 100 * quantity.Micrometre

// blank outlines the blank and its hole, just inside the metal.
func (l *layout) blank() {
	w, h := l.stock.Width, l.stock.Height
	if l.stock.Round {
		l.out.Blank = append(l.out.Blank, ring(pt(w/2, h/2), w/2, w/2-hairline))
	} else {
		l.out.Blank = append(l.out.Blank, frame(w, h, l.stock.Corner, hairline))
	}
	if hole := l.stock.Hole; hole.Diameter > 0 {
		l.out.Blank = append(l.out.Blank, ring(hole.Centre, hole.Diameter/2+hairline, hole.Diameter/2))
	}
}
