package render

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"sync"

	"cribgate/core/quantity"
	"cribgate/labeler/pdf"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// ErrNoTag is what PDF.Close returns for a document without pages.
var ErrNoTag = errors.New("render: write PDF: no tag in it")

// A PDF is a document of pages. Each is written when it is added, so that
// memory does not grow with their number. Text is text, in embedded fonts, so
// that it can be searched and read aloud. It is called by its first and its last
// drawing. It is for one goroutine.
type PDF struct {
	doc     *pdf.Writer
	options Options
	fonts   map[printtemplates.Font]*pdf.Font
	stamps  map[string]*pdf.Stamp // by shape
	key     []byte                // scratch
	err     error                 // of the fonts
	pages   int
	titles  [2]string // of the first and the last drawing
}

// fonts holds the parsed fonts. They are the Go fonts, whose licence (BSD, three
// clauses) travels in the part that a document embeds.
var fonts = sync.OnceValues(func() (map[printtemplates.Font]*pdf.Font, error) {
	all := map[printtemplates.Font]*pdf.Font{}
	for f, name := range map[printtemplates.Font]string{printtemplates.Regular: "Go-Regular", printtemplates.Bold: "Go-Bold"} {
		font, err := pdf.ParseFont(name, sheet.FontFile(f))
		if err != nil {
			return nil, fmt.Errorf("render: %w", err)
		}
		all[f] = font
	}
	return all, nil
})

// NewPDF begins a document that is written to w.
func NewPDF(w io.Writer, o Options) *PDF {
	p := &PDF{doc: pdf.New(w, pdf.Info{Language: "en", Producer: "labeler"}), options: o, stamps: map[string]*pdf.Stamp{}}
	p.fonts, p.err = fonts()
	return p
}

// Add writes the next page. After an error the document is of no use.
func (p *PDF) Add(page sheet.Page) error {
	if p.err != nil {
		return p.err
	}
	out := p.doc.Begin(page.Width, page.Height)
	for _, colour := range []sheet.Colour{sheet.Second, sheet.Black} { // black over the other
		for _, d := range page.Placed {
			if err := p.draw(out, d, colour); err != nil {
				return fmt.Errorf("render: draw %q: %w", page.Title, err)
			}
		}
	}
	for _, path := range page.Crop {
		p.fill(out, path, sheet.Point{})
	}
	if p.options.Outline {
		for _, d := range page.Placed {
			for _, path := range d.Blank {
				p.fill(out, path, d.At)
			}
		}
	}
	if err := out.End(); err != nil {
		return fmt.Errorf("render: write PDF: %w", err)
	}
	p.pages++
	p.name(page)
	return nil
}

// name keeps what the document is called by: its first and its last drawing.
func (p *PDF) name(page sheet.Page) {
	titles := [2]string{page.Title, page.Title}
	if n := len(page.Placed); n > 0 {
		titles = [2]string{page.Placed[0].Title, page.Placed[n-1].Title}
	}
	if p.pages == 1 {
		p.titles[0] = titles[0]
	}
	p.titles[1] = titles[1]
}

// Close ends the document. It fails with ErrNoTag where it has no page.
func (p *PDF) Close() error {
	if p.err != nil {
		return p.err
	}
	if p.pages == 0 {
		return ErrNoTag
	}
	title := p.titles[0]
	if p.titles[1] != title {
		title += " to " + p.titles[1]
	}
	p.doc.Title(title)
	if err := p.doc.Close(); err != nil {
		return fmt.Errorf("render: write PDF: %w", err)
	}
	return nil
}

// draw puts what a drawing has in one colour on the page.
func (p *PDF) draw(out *pdf.Page, d sheet.Placed, colour sheet.Colour) error {
	if colour == sheet.Black {
		out.Ink(pdf.Ink{})
		grid(out, d)
	} else {
		out.Ink(pdf.Ink(d.Tint))
	}
	for _, a := range d.Ink {
		if a.Colour == colour {
			p.fill(out, a.Path, d.At)
		}
	}
	for _, t := range d.Texts {
		if t.Colour != colour {
			continue
		}
		if err := out.Text(p.fonts[t.Font], t.Size, d.At.X+t.At.X, d.At.Y+t.At.Y, t.String); err != nil {
			return err
		}
	}
	return nil
}

// grid fills the symbol's dark areas.
func grid(out *pdf.Page, d sheet.Placed) {
	s := d.Symbol
	if s.Module == 0 {
		return
	}
	g := out.Grid(d.At.X+s.At.X, d.At.Y+s.At.Y, s.Module)
	for _, outline := range s.Contours() {
		for i, c := range outline {
			if i == 0 {
				g.Move(c.X, c.Y)
			} else {
				g.Line(c.X, c.Y)
			}
		}
	}
	g.Fill()
}

// most is how many shapes a document remembers. A stock has a few; beyond that
// they are written where they lie.
const most = 256

// fill inks a path of a drawing that is placed at a point. Shapes recur, such as
// the rings of the marks, and one with curves is written once.
func (p *PDF) fill(out *pdf.Page, path sheet.Path, at sheet.Point) {
	if len(path) == 0 {
		return
	}
	start := path[0].To[0]
	p.key = p.key[:0]
	curved := false
	var box quantity.Length
	for _, seg := range path {
		curved = curved || seg.Op == sheet.Cube
		p.key = append(p.key, byte(seg.Op))
		for _, q := range seg.Points() {
			x, y := q.X-start.X, q.Y-start.Y
			box = max(box, x, -x, y, -y)
			p.key = binary.AppendVarint(binary.AppendVarint(p.key, int64(x)), int64(y))
		}
	}
	stamp := p.stamps[string(p.key)]
	if !curved || stamp == nil && len(p.stamps) == most {
		outline(out, path, at)
		out.Fill()
		return
	}
	if stamp == nil {
		stamp = p.doc.Stamp(box, func(own *pdf.Page) { outline(own, path, sheet.Point{X: -start.X, Y: -start.Y}) })
		p.stamps[string(p.key)] = stamp
	}
	out.Stamp(stamp, at.X+start.X, at.Y+start.Y)
}

func outline(out *pdf.Page, path sheet.Path, at sheet.Point) {
	for _, seg := range path {
		to := seg.To
		switch seg.Op {
		case sheet.Move:
			out.Move(at.X+to[0].X, at.Y+to[0].Y)
		case sheet.Line:
			out.Line(at.X+to[0].X, at.Y+to[0].Y)
		case sheet.Cube:
			out.Cube(at.X+to[0].X, at.Y+to[0].Y, at.X+to[1].X, at.Y+to[1].Y, at.X+to[2].X, at.Y+to[2].Y)
		}
	}
}
