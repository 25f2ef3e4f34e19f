package render

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
)

// CurveTolerance is how far a straight piece of a DXF's outline may lie from
// the curve that it stands for, besides the rounding to a micrometre (common
// practice, no source: a tenth of an engraver's line).
const CurveTolerance = 10 * quantity.Micrometre

// The colour numbers of a DXF's layers (DXF, group code 62, from memory, not
// seen): 7 is black on a light screen, 1 red, 5 blue.
const (
	blackNumber  = 7
	secondNumber = 1
	cutNumber    = 5
)

// DXF writes a page for an engraver: DXF of release 12 (AC1009, group codes
// from memory, not seen), in millimetres, y upward from the page's lower left
// corner. That release has no word for the unit, so a comment says it.
//
// Everything is a closed POLYLINE of straight pieces, letters too. The layer
// BLACK holds the symbols and all else in black, SECOND what is in the second
// colour (SECOND-2 and so on where there are more tints), and on request CUT
// the edges of the blanks and their holes, one line each.
//
// A dark area is its outer outline and, separate, one outline for each light
// area in it, which runs the other way round. Dark areas of a symbol that touch
// at a corner only are apart. To engrave a layer is to fill it: by the even-odd
// rule and by the non-zero rule the same comes out, since the areas of a tag do
// not overlap. Where lines of a card cross, only the non-zero rule fills.
func DXF(w io.Writer, page sheet.Page, o Options) error {
	all, err := layers(page)
	if err != nil {
		return fmt.Errorf("render: draw %q: %w", page.Title, err)
	}
	d := dxf{out: bufio.NewWriter(w), height: page.Height}
	d.head(page, all)
	for _, l := range all {
		name := strings.ToUpper(l.name)
		for _, s := range l.symbols {
			for _, outline := range corners(s) {
				d.polyline(name, outline)
			}
		}
		for _, p := range l.paths {
			for _, outline := range flatten(p) {
				d.polyline(name, outline)
			}
		}
	}
	if o.Outline {
		for _, placed := range page.Placed {
			for _, p := range placed.Cut {
				for _, outline := range flatten(moved(p, placed.At)) {
					d.polyline("CUT", outline)
				}
			}
		}
	}
	d.group(0, "ENDSEC")
	d.group(0, "EOF")
	// The buffer keeps its first error and returns it here.
	if err := d.out.Flush(); err != nil {
		return fmt.Errorf("render: write DXF of %q: %w", page.Title, err)
	}
	return nil
}

// A dxf is a file under way: groups of a code and a value, a line each.
type dxf struct {
	out    *bufio.Writer
	height quantity.Length
}

func (d dxf) group(code int, value string) {
	b := append(d.out.AvailableBuffer(), strconv.Itoa(code)...)
	b = append(append(b, "\r\n"...), value...)
	d.out.Write(append(b, "\r\n"...))
}

func (d dxf) point(x, y quantity.Length) {
	b := append(d.out.AvailableBuffer(), "10\r\n"...)
	b = append(appendMillimetres(b, x), "\r\n20\r\n"...)
	d.out.Write(append(appendMillimetres(b, y), "\r\n"...))
}

// head writes what stands before the outlines.
func (d dxf) head(page sheet.Page, all []layer) {
	d.group(999, plain(page.Title)+": in millimetres")
	d.group(0, "SECTION")
	d.group(2, "HEADER")
	d.group(9, "$ACADVER")
	d.group(1, "AC1009")
	for _, limit := range []struct {
		name string
		x, y quantity.Length
	}{
		{"$EXTMIN", 0, 0}, {"$EXTMAX", page.Width, page.Height},
		{"$LIMMIN", 0, 0}, {"$LIMMAX", page.Width, page.Height},
	} {
		d.group(9, limit.name)
		d.point(limit.x, limit.y)
	}
	d.group(9, "$LUNITS") // lengths are shown as decimal numbers
	d.group(70, "2")
	d.group(0, "ENDSEC")
	d.group(0, "SECTION")
	d.group(2, "TABLES")
	d.table("LTYPE", 1)
	d.group(0, "LTYPE")
	d.group(2, "CONTINUOUS")
	d.group(70, "0")
	d.group(3, "Solid line")
	d.group(72, "65")
	d.group(73, "0")
	d.group(40, "0.0")
	d.group(0, "ENDTAB")
	d.table("LAYER", len(all)+1)
	for _, l := range all {
		number := secondNumber
		if l.name == "black" {
			number = blackNumber
		}
		d.layer(strings.ToUpper(l.name), number)
	}
	d.layer("CUT", cutNumber)
	d.group(0, "ENDTAB")
	d.group(0, "ENDSEC")
	d.group(0, "SECTION")
	d.group(2, "ENTITIES")
}

func (d dxf) table(name string, entries int) {
	d.group(0, "TABLE")
	d.group(2, name)
	d.group(70, strconv.Itoa(entries))
}

func (d dxf) layer(name string, colour int) {
	d.group(0, "LAYER")
	d.group(2, name)
	d.group(70, "0")
	d.group(62, strconv.Itoa(colour))
	d.group(6, "CONTINUOUS")
}

// polyline writes a closed outline.
func (d dxf) polyline(layer string, outline []sheet.Point) {
	d.group(0, "POLYLINE")
	d.group(8, layer)
	d.group(66, "1") // vertices follow
	d.point(0, 0)    // always so
	d.group(70, "1") // closed
	for _, p := range outline {
		d.group(0, "VERTEX")
		d.group(8, layer)
		d.point(p.X, d.height-p.Y)
	}
	d.group(0, "SEQEND")
	d.group(8, layer)
}

// plain is a text without what would end its line or is not ASCII.
func plain(s string) string {
	var b strings.Builder
	for _, r := range s {
		if r >= ' ' && r <= '~' {
			b.WriteRune(r)
		} else {
			fmt.Fprintf(&b, `\U+%04X`, r)
		}
	}
	return b.String()
}
