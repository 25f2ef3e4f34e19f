package render

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
)

// SVG writes a drawing in millimetres, everything as paths: no font is needed
// to show or to engrave it. The first path is the symbol, the second all else.
// What the tag says stands in the description, for people who search or listen.
func SVG(w io.Writer, d sheet.Drawing, o Options) error {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %d %d">`+"\n",
		millimetres(d.Width), millimetres(d.Height), d.Width, d.Height)
	fmt.Fprintf(&b, "<title>%s</title>\n<desc>", escape(d.Title))
	for i, t := range d.Texts {
		if i > 0 {
			b.WriteByte('\n')
		}
		b.WriteString(escape(t.String))
	}
	b.WriteString("</desc>\n")
	if o.Outline {
		b.WriteString(`<path id="blank" d="`)
		for _, p := range d.Blank {
			svgPath(&b, p)
		}
		b.WriteString(`"/>` + "\n")
	}
	b.WriteString(`<path id="symbol" d="`)
	for _, outline := range corners(d.Symbol) {
		last := outline[len(outline)-1]
		fmt.Fprintf(&b, "M%d %d", last.X, last.Y)
		for _, p := range outline[:len(outline)-1] {
			if p.Y == last.Y {
				fmt.Fprintf(&b, "H%d", p.X)
			} else {
				fmt.Fprintf(&b, "V%d", p.Y)
			}
			last = p
		}
		b.WriteByte('Z')
	}
	b.WriteString(`"/>` + "\n" + `<path id="ink" d="`)
	for _, a := range d.Ink {
		svgPath(&b, a.Path)
	}
	for _, t := range d.Texts {
		p, err := t.Outline()
		if err != nil {
			return fmt.Errorf("render: draw %q: %w", d.Title, err)
		}
		svgPath(&b, p)
	}
	b.WriteString(`"/>` + "\n</svg>\n")
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("render: write SVG of %q: %w", d.Title, err)
	}
	return nil
}

// svgPath adds a path. Places are relative to the last one, which is shorter.
func svgPath(b *bytes.Buffer, p sheet.Path) {
	var last, start sheet.Point
	for i, seg := range p {
		step := "mlc"[seg.Op]
		switch {
		case i == 0:
			step = 'M' // absolute
		case seg.Op == sheet.Move:
			b.WriteByte('z')
			last = start // closing goes back to where the outline began
		}
		b.WriteByte(step)
		points := seg.Points()
		for j, q := range points {
			if j > 0 {
				b.WriteByte(' ')
			}
			number(b, q.X-last.X)
			b.WriteByte(' ')
			number(b, q.Y-last.Y)
		}
		last = points[len(points)-1]
		if seg.Op == sheet.Move {
			start = last
		}
	}
	if len(p) > 0 {
		b.WriteByte('z')
	}
}

func number(b *bytes.Buffer, l quantity.Length) {
	b.Write(strconv.AppendInt(b.AvailableBuffer(), int64(l), 10))
}

// millimetres spells a length in millimetres, exactly.
func millimetres(l quantity.Length) string {
	return fmt.Sprintf("%d.%03d", l/quantity.Millimetre, l%quantity.Millimetre)
}

func escape(s string) string {
	var b bytes.Buffer
	xml.EscapeText(&b, []byte(s)) // writing to a Buffer does not fail
	return b.String()
}
