package sheet

import (
	"fmt"
	"strings"

	"cribgate/core/quantity"
	"cribgate/printtemplates"
)

// A Builder lays out a drawing that has no stock, such as a card, with the same
// care as [Layout]: a text shrinks to its smallest type and no further, and
// what touches something else or the edge is refused with the figure. The first
// thing that fails is kept and comes out of [Builder.Drawing], so that what
// follows need not ask.
type Builder struct {
	layout
	rules []cover // lines of a table, which may touch each other
	err   error
}

// NewBuilder begins a drawing. Nothing may come nearer than margin to its edge.
func NewBuilder(title string, width, height, margin quantity.Length) *Builder {
	return &Builder{layout: layout{
		stock: printtemplates.Stock{Name: "paper", Width: width, Height: height, Margin: margin},
		out:   Drawing{Title: title, Width: width, Height: height},
	}}
}

// A Label is a text on one line.
type Label struct {
	String         string // empty places nothing
	Font           printtemplates.Font
	Size, Smallest quantity.Length // of the em
	At             Point           // of the baseline, by Align
	Align          printtemplates.Align
	Room           quantity.Length // longest
}

// Label places a text on one line.
func (b *Builder) Label(t Label) {
	if b.err != nil || t.String == "" {
		return
	}
	text := strings.ReplaceAll(t.String, noBreak, " ")
	b.err = b.layout.text(line{text: text, font: t.Font, size: t.Size, smallest: t.Smallest, room: t.Room}, func(width, _ quantity.Length) Point {
		switch t.Align {
		case printtemplates.Middle:
			return pt(t.At.X-width/2, t.At.Y)
		case printtemplates.Right:
			return pt(t.At.X-width, t.At.Y)
		}
		return t.At
	})
}

// noBreak is the no-break space. It keeps a figure and its unit on one line and
// is printed as a space.
const noBreak = "\u00a0"

// A Paragraph is a text that is broken at its spaces, though not at no-break
// spaces, U+00A0.
type Paragraph struct {
	String         string // empty places nothing
	Font           printtemplates.Font
	Size, Smallest quantity.Length // of the em; Size is no larger than Height
	Box            Rect            // the lines fill it from the top
}

// lead is from one baseline to the next, per cent of the em.
const lead = 120

// Paragraph places a text in the largest type, from Size down to Smallest, in
// which its lines fit into the box, and gives the height that they take.
func (b *Builder) Paragraph(t Paragraph) quantity.Length {
	if b.err != nil || t.String == "" {
		return 0
	}
	width, height := t.Box.Max.X-t.Box.Min.X, t.Box.Max.Y-t.Box.Min.Y
	var lines []string
	var need quantity.Length
	for size := t.Size; size >= t.Smallest; size -= typeStep {
		if lines, b.err = broken(t.String, t.Font, size, width); b.err != nil {
			return 0
		}
		need = size * lead * quantity.Length(len(lines)) / 100
		if need > height || tooLong(lines, t.Font, size, width) {
			continue
		}
		for i, line := range lines {
			b.Label(Label{
				String: line, Font: t.Font, Size: size, Smallest: size, Room: width,
				At: pt(t.Box.Min.X, t.Box.Min.Y+size*(lead*quantity.Length(i)+95)/100),
			})
		}
		return need
	}
	b.err = fmt.Errorf("%w: %q needs %d lines = %s in its smallest type of %s and has %s by %s",
		ErrFit, t.String, len(lines), need, t.Smallest, width, height)
	return 0
}

// broken breaks a text into lines no longer than width, but for a single word
// that is.
func broken(text string, f printtemplates.Font, size, width quantity.Length) ([]string, error) {
	var lines []string
	line := ""
	for _, word := range strings.Split(text, " ") {
		word = strings.ReplaceAll(word, noBreak, " ")
		longer := line + " " + word
		if line == "" {
			longer = word
		}
		s, err := shapeOf(longer, f)
		if err != nil {
			return nil, err
		}
		if line != "" && s.width(size) > width {
			lines, line = append(lines, line), word
			continue
		}
		line = longer
	}
	return append(lines, line), nil
}

func tooLong(lines []string, f printtemplates.Font, size, width quantity.Length) bool {
	for _, line := range lines {
		if s, err := shapeOf(line, f); err != nil || s.width(size) > width {
			return true
		}
	}
	return false
}

// Figure fills paths that together take up a box: they may touch each other,
// nothing else may touch the box, and none may reach out of it.
func (b *Builder) Figure(what string, box Rect, paths ...Path) {
	for _, p := range paths {
		for _, seg := range p {
			for _, at := range seg.Points() {
				by := max(box.Min.X-at.X, at.X-box.Max.X, box.Min.Y-at.Y, at.Y-box.Max.Y)
				if by > 0 && b.err == nil {
					b.err = fmt.Errorf("%w: %s reaches %s out of its place", ErrOverlap, what, by)
				}
			}
		}
		b.out.Ink = append(b.out.Ink, Area{Path: p})
	}
	b.take(what, box)
}

// Rule fills a box as a line of a table or a frame. Rules may touch each other
// and nothing else.
func (b *Builder) Rule(box Rect) {
	b.out.Ink = append(b.out.Ink, Area{Path: Rectangle(box)})
	b.rules = append(b.rules, cover{what: "a rule", box: box})
}

// Frame draws four rules along the inside of a box.
func (b *Builder) Frame(box Rect, line quantity.Length) {
	b.Rule(Rect{box.Min, pt(box.Max.X, box.Min.Y+line)})
	b.Rule(Rect{pt(box.Min.X, box.Max.Y-line), box.Max})
	b.Rule(Rect{pt(box.Min.X, box.Min.Y+line), pt(box.Min.X+line, box.Max.Y-line)})
	b.Rule(Rect{pt(box.Max.X-line, box.Min.Y+line), pt(box.Max.X, box.Max.Y-line)})
}

// Fail keeps an error that whoever builds has found, if it is the first.
func (b *Builder) Fail(err error) {
	if b.err == nil {
		b.err = err
	}
}

// Drawing ends the drawing. The error is the first that was met, or says what
// touches what; the Drawing is then zero.
func (b *Builder) Drawing() (Drawing, error) {
	err := b.err
	if err == nil {
		err = b.check()
	}
	for _, r := range b.rules {
		if by := b.overEdge(r, b.stock.Margin); by > 0 && err == nil {
			err = fmt.Errorf("%w: %s by %s, margin %s", ErrEdge, r.what, by, b.stock.Margin)
		}
		for _, a := range b.taken {
			if by := a.into(r); by > 0 && err == nil {
				err = fmt.Errorf("%w: %s lies %s inside %s", ErrOverlap, a.what, by, r.what)
			}
		}
	}
	if err != nil {
		return Drawing{}, fmt.Errorf("sheet: lay out %q: %w", b.out.Title, err)
	}
	return b.out, nil
}
