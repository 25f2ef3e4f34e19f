package render

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"

	"golang.org/x/image/vector"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
)

// The resolutions that PNG takes, in dots an inch. 203 is the coarsest in
// common use; above 2400 a picture of a tag takes tens of megabytes (common
// practice, no source).
const (
	MinDPI = 100
	MaxDPI = 2400
)

// ErrDPI is what PNG wraps for a resolution out of its range or too coarse for
// the symbol.
var ErrDPI = errors.New("resolution does not suit the tag")

// A Raster says how the symbol came out in whole dots.
type Raster struct {
	DPI    int
	Dots   int             // on each side of a module
	Module quantity.Length // as drawn, rounded down to a micrometre
	Wanted quantity.Length // as laid out
}

// PNG writes a drawing as a picture in shades of grey that states its
// resolution. A module takes the most whole dots that do not exceed its size,
// so that all are alike; the symbol stays in the middle of its place and its
// quiet zone only grows. It refuses, with ErrDPI and the figure, where a module
// so drawn is smaller than what lasts on the stock.
func PNG(w io.Writer, d sheet.Drawing, dpi int, o Options) (Raster, error) {
	if dpi < MinDPI || dpi > MaxDPI {
		return Raster{}, fmt.Errorf("render: draw %q: %w: %d dots an inch are not from %d to %d", d.Title, ErrDPI, dpi, MinDPI, MaxDPI)
	}
	c := canvas{dpi: dpi}
	r := Raster{DPI: dpi, Dots: c.dotsIn(d.Symbol.Module), Wanted: d.Symbol.Module}
	r.Module = quantity.Length(int64(r.Dots) * int64(quantity.Inch) / int64(dpi))
	if r.Module < d.Symbol.Smallest {
		return Raster{}, fmt.Errorf("render: draw %q: %w: at %d dots an inch a module is %d dots = %s, at least %s lasts on the stock",
			d.Title, ErrDPI, dpi, r.Dots, r.Module, d.Symbol.Smallest)
	}
	c.img = image.NewGray(image.Rect(0, 0, c.dots(d.Width), c.dots(d.Height)))
	draw.Draw(c.img, c.img.Bounds(), image.White, image.Point{}, draw.Src)
	if o.Outline {
		for _, p := range d.Blank {
			c.fill(p)
		}
	}
	for _, a := range d.Ink {
		c.fill(a.Path)
	}
	for _, t := range d.Texts {
		p, err := t.Outline()
		if err != nil {
			return Raster{}, fmt.Errorf("render: draw %q: %w", d.Title, err)
		}
		c.fill(p)
	}
	c.symbol(d.Symbol, r.Dots)
	var b bytes.Buffer
	if err := png.Encode(&b, c.img); err != nil {
		return Raster{}, fmt.Errorf("render: encode PNG of %q: %w", d.Title, err)
	}
	if _, err := w.Write(withResolution(b.Bytes(), dpi)); err != nil {
		return Raster{}, fmt.Errorf("render: write PNG of %q: %w", d.Title, err)
	}
	return r, nil
}

// A canvas is a picture under way.
type canvas struct {
	img *image.Gray
	dpi int
}

// exact is a length in dots.
func (c canvas) exact(l quantity.Length) float64 {
	return float64(l) * float64(c.dpi) / float64(quantity.Inch)
}

// dots is a length in whole dots, the nearest.
func (c canvas) dots(l quantity.Length) int { return int(c.exact(l) + 0.5) }

// dotsIn is how many whole dots a length holds.
func (c canvas) dotsIn(l quantity.Length) int {
	return int(int64(l) * int64(c.dpi) / int64(quantity.Inch))
}

// fill blackens a path, smoothing its edges.
func (c canvas) fill(p sheet.Path) {
	box := c.box(p)
	if box.Empty() {
		return
	}
	z := vector.NewRasterizer(box.Dx(), box.Dy())
	for _, seg := range p {
		var x, y [3]float32
		for i, q := range seg.Points() {
			x[i] = float32(c.exact(q.X) - float64(box.Min.X))
			y[i] = float32(c.exact(q.Y) - float64(box.Min.Y))
		}
		switch seg.Op {
		case sheet.Move:
			z.ClosePath()
			z.MoveTo(x[0], y[0])
		case sheet.Line:
			z.LineTo(x[0], y[0])
		case sheet.Cube:
			z.CubeTo(x[0], y[0], x[1], y[1], x[2], y[2])
		}
	}
	z.ClosePath()
	z.Draw(c.img, box, image.Black, image.Point{})
}

// box is the whole dots that a path may touch.
func (c canvas) box(p sheet.Path) image.Rectangle {
	var box image.Rectangle
	for _, seg := range p {
		for _, q := range seg.Points() {
			x, y := int(c.exact(q.X)), int(c.exact(q.Y))
			box = box.Union(image.Rect(x-1, y-1, x+2, y+2))
		}
	}
	return box.Intersect(c.img.Bounds())
}

// symbol sets the modules on whole dots, in the middle of their place.
func (c canvas) symbol(s sheet.Symbol, dots int) {
	slack := c.exact(s.Side()) - float64(symbol.Modules*dots)
	left, top := int(c.exact(s.At.X)+slack/2+0.5), int(c.exact(s.At.Y)+slack/2+0.5)
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			if s.Dark(column, row) {
				x, y := left+column*dots, top+row*dots
				draw.Draw(c.img, image.Rect(x, y, x+dots, y+dots), image.NewUniform(color.Gray{}), image.Point{}, draw.Src)
			}
		}
	}
}

// withResolution puts a pHYs chunk (PNG specification, 11.3.4.3: whole dots a
// metre) behind the header of an encoded picture.
func withResolution(encoded []byte, dpi int) []byte {
	const header = 8 + 4 + 4 + 13 + 4 // signature, IHDR
	perMetre := uint32((int64(dpi)*int64(quantity.Metre) + int64(quantity.Inch)/2) / int64(quantity.Inch))
	chunk := []byte("\x00\x00\x00\x09pHYs")
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1) // the unit is the metre
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	out := append([]byte(nil), encoded[:header]...)
	out = append(out, chunk...)
	return append(out, encoded[header:]...)
}
