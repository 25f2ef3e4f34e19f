package render

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
)

// SVG writes a page in millimetres, everything as paths: no font is needed to
// show or to engrave it. There is one path a colour: "black", which holds the
// symbols and the crop marks too, and before it "second", filled with its tint,
// where a second colour is printed ("second-2" and so on where there are more
// tints). On request the path "blank" shows the edges. What the tags say stands
// in the description, for people who search or listen.
func SVG(w io.Writer, page sheet.Page, o Options) error {
	all, err := layers(page)
	if err != nil {
		return fmt.Errorf("render: draw %q: %w", page.Title, err)
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %d %d">`+"\n",
		millimetres(page.Width), millimetres(page.Height), page.Width, page.Height)
	fmt.Fprintf(&b, "<title>%s</title>\n<desc>%s</desc>\n", escape(page.Title), escape(says(page)))
	if o.Outline {
		b.WriteString(`<path id="blank" d="`)
		for _, p := range edges(page) {
			svgPath(&b, p)
		}
		b.WriteString(`"/>` + "\n")
	}
	for _, l := range all {
		fmt.Fprintf(&b, `<path id="%s" fill="#%02x%02x%02x" d="`, l.name, l.tint.R, l.tint.G, l.tint.B)
		for _, s := range l.symbols {
			svgGrid(&b, s)
		}
		for _, p := range l.paths {
			svgPath(&b, p)
		}
		b.WriteString(`"/>` + "\n")
	}
	b.WriteString("</svg>\n")
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("render: write SVG of %q: %w", page.Title, err)
	}
	return nil
}

// says is a page's text, line by line, a blank line between drawings.
func says(page sheet.Page) string {
	var b strings.Builder
	for i, d := range page.Placed {
		if i > 0 {
			b.WriteString("\n\n")
		}
		for j, t := range d.Texts {
			if j > 0 {
				b.WriteByte('\n')
			}
			b.WriteString(t.String)
		}
	}
	return b.String()
}

// svgGrid adds the outlines of a symbol.
func svgGrid(b *bytes.Buffer, s sheet.Symbol) {
	for _, outline := range corners(s) {
		last := outline[len(outline)-1]
		fmt.Fprintf(b, "M%d %d", last.X, last.Y)
		for _, p := range outline[:len(outline)-1] {
			if p.Y == last.Y {
				fmt.Fprintf(b, "H%d", p.X)
			} else {
				fmt.Fprintf(b, "V%d", p.Y)
			}
			last = p
		}
		b.WriteByte('Z')
	}
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
func millimetres(l quantity.Length) string { return string(appendMillimetres(nil, l)) }

func appendMillimetres(b []byte, l quantity.Length) []byte {
	if l < 0 {
		b, l = append(b, '-'), -l
	}
	b = strconv.AppendInt(b, int64(l/quantity.Millimetre), 10)
	rest := l % quantity.Millimetre
	return append(b, '.', byte('0'+rest/100), byte('0'+rest/10%10), byte('0'+rest%10))
}

func escape(s string) string {
	var b bytes.Buffer
	xml.EscapeText(&b, []byte(s)) // writing to a Buffer does not fail
	return b.String()
}
