package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"strconv"
	"strings"

	"cribgate/core/quantity"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// Content is what is printed on one blank. The zero Content is that of a tag
// and says nothing.
type Content struct {
	Kind   printtemplates.Kind // what it is for: the stock's must be the same
	Symbol symbol.Symbol
	Facts  map[printtemplates.Word]string // all but {due} and {period}, which come from the fields below

	Due       quantity.Date // printed in words, and its month and year marks are filled; zero for none
	FirstYear int           // number of the first year mark; 0 leaves the year marks without numbers
	Period    printtemplates.Colour
}

// facts are the words' texts. That of the due day is made of the day whose marks
// are filled, so that the two cannot differ, and the period's of its colour.
func (c Content) facts() map[printtemplates.Word]string {
	all := maps.Clone(c.Facts)
	if all == nil {
		all = map[printtemplates.Word]string{}
	}
	all[printtemplates.Due] = ""
	if !c.Due.IsZero() {
		all[printtemplates.Due] = c.Due.Long()
	}
	all[printtemplates.Period] = strings.ToUpper(c.Period.String())
	return all
}

// Why a tag is not laid out. Each comes wrapped in a sentence with its figures.
var (
	ErrFit      = errors.New("text does not fit")
	ErrGlyph    = errors.New("font has no such letter")
	ErrModule   = errors.New("module too small for the stock")
	ErrOverlap  = errors.New("things on the tag touch")
	ErrEdge     = errors.New("too near to the edge of the blank")
	ErrYear     = errors.New("due year has no mark")
	ErrContrast = errors.New("too faint on its ground")
	ErrKind     = errors.New("stock is for something else")
	ErrMissing  = errors.New("something is missing that the stock shows")
	ErrPaper    = errors.New("does not fit the paper")
)

// typeStep is what a type size is shrunk by, so that like tags look alike.
const typeStep = 50 * quantity.Micrometre

// A layout is a drawing under way.
type layout struct {
	stock  printtemplates.Stock
	out    Drawing
	taken  []cover
	second printtemplates.Colour // what the second colour is here
}

// Layout places content on a stock. On error, one of this package's Err values
// with its figures, the Drawing is zero.
func Layout(stock printtemplates.Stock, content Content) (Drawing, error) {
	l := layout{stock: stock, out: Drawing{
		Title: cmp.Or(content.Facts[printtemplates.ID], content.Facts[printtemplates.Name]),
		Width: stock.Width, Height: stock.Height,
	}}
	for _, step := range []func(Content) error{l.whole, l.colours, l.symbol, l.lines, l.fields, l.marks} {
		if err := step(content); err != nil {
			return Drawing{}, fmt.Errorf("sheet: lay out %q on %s: %w", l.out.Title, stock.Name, err)
		}
	}
	for _, check := range []func() error{l.check, l.readable} {
		if err := check(); err != nil {
			return Drawing{}, fmt.Errorf("sheet: lay out %q on %s: %w", l.out.Title, stock.Name, err)
		}
	}
	l.blank()
	return l.out, nil
}

// whole refuses content that is not of the stock's kind or lacks what every
// stock of the kind shows.
func (l *layout) whole(c Content) error {
	if c.Kind != l.stock.Kind {
		return fmt.Errorf("%w: this is a %s, the stock is for a %s", ErrKind, c.Kind, l.stock.Kind)
	}
	facts := c.facts()
	for _, w := range l.stock.Kind.Required() {
		if other := facts[alternative[w]]; facts[w] == "" && other == "" {
			return fmt.Errorf("%w: {%s}", ErrMissing, w)
		}
	}
	if l.stock.Symbol.Side > 0 && c.Symbol.Text() == "" {
		return fmt.Errorf("%w: the symbol", ErrMissing)
	}
	return nil
}

// alternative pairs the words of which one is empty.
var alternative = map[printtemplates.Word]printtemplates.Word{
	printtemplates.Due:    printtemplates.Status,
	printtemplates.Status: printtemplates.Due,
}

// symbol fills the stock's square with modules of whole micrometres.
func (l *layout) symbol(c Content) error {
	place := l.stock.Symbol
	if place.Side == 0 {
		return nil
	}
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
	facts := c.facts()
	for _, f := range l.stock.Fields {
		text := f.Text(facts)
		if text == "" {
			continue
		}
		err := l.text(line{text, f.Font, l.ink(f.Second), f.Size, f.Smallest, f.Width}, func(width, _ quantity.Length) Point {
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

// A line is a text to be set, no larger than size and no wider than room.
type line struct {
	text                 string
	font                 printtemplates.Font
	colour               Colour
	size, smallest, room quantity.Length
}

// text sets a line. begin says where its baseline begins, from its width and
// the height of its figures.
func (l *layout) text(x line, begin func(width, height quantity.Length) Point) error {
	s, err := shapeOf(x.text, x.font)
	if err != nil {
		return err
	}
	size := x.size
	if most := s.largest(x.room); most < size {
		size = max(most-most%typeStep, min(most, x.smallest))
	}
	if size < x.smallest {
		return fmt.Errorf("%w: %q needs %s in its smallest type of %s and has %s", ErrFit, x.text, s.width(x.smallest), x.smallest, x.room)
	}
	at := begin(s.width(size), -s.ink(size, pt(0, 0)).Min.Y)
	ink := s.ink(size, at)
	l.out.Texts = append(l.out.Texts, Text{
		String: x.text, Font: x.font, Colour: x.colour, Size: size, At: at, Width: s.width(size), Ink: ink,
	})
	l.taken = append(l.taken, cover{what: strconv.Quote(x.text), box: ink, text: true, colour: x.colour})
	return nil
}

func (l *layout) marks(c Content) error {
	m := l.stock.Marks
	year, month, _ := c.Due.YMD()
	if c.Due.IsZero() {
		year, month = 0, 0
	} else if last := c.FirstYear + len(m.Years) - 1; len(m.Years) > 0 && (year < c.FirstYear || year > last) {
		if c.FirstYear == 0 {
			return fmt.Errorf("%w: %d, and the year marks have no numbers", ErrYear, year)
		}
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
	return l.text(line{label, face, Black, m.Size, m.Smallest, mark.Width}, func(width, height quantity.Length) Point {
		return pt(mark.Label.X-width/2, mark.Label.Y+height/2)
	})
}
