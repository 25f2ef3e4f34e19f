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
// common use; no printer of tags is finer than 2400 (common practice, no
// source).
const (
	MinDPI = 100
	MaxDPI = 2400
)

// MaxDots is how many dots a PNG may have: more than a full A4 page at 600 dots
// an inch, and no more than 160 MB of memory.
const MaxDots = 40_000_000

// ErrDPI is what PNG wraps for a resolution out of its range, too coarse for
// the symbol or too fine for the page.
var ErrDPI = errors.New("resolution does not suit the tag")

// A Raster says how a page's symbols came out in whole dots: the one that
// differs most from what was laid out, where they differ. All but DPI is zero
// for a page without a symbol.
type Raster struct {
	DPI    int
	Dots   int             // on each side of a module
	Module quantity.Length // as drawn, rounded down to a micrometre
	Wanted quantity.Length // as laid out
	Short  quantity.Length // how much narrower the whole symbol came out, rounded up
}

// PNG writes a page as a picture that states its resolution: in shades of grey,
// or in colours where a second one is printed. A module takes the most whole
// dots that do not exceed its size, so that all are alike; each symbol stays in
// the middle of its place and its quiet zone only grows. It refuses, with
// ErrDPI and the figure, where a module so drawn is smaller than what lasts on
// the stock and where the picture would have more than MaxDots.
func PNG(w io.Writer, page sheet.Page, dpi int, o Options) (Raster, error) {
	r, err := draft(w, page, dpi, o)
	if err != nil {
		return Raster{}, fmt.Errorf("render: draw PNG of %q: %w", page.Title, err)
	}
	return r, nil
}

func draft(w io.Writer, page sheet.Page, dpi int, o Options) (Raster, error) {
	if dpi < MinDPI || dpi > MaxDPI {
		return Raster{}, fmt.Errorf("%w: %d dots an inch are not from %d to %d", ErrDPI, dpi, MinDPI, MaxDPI)
	}
	c := canvas{dpi: dpi}
	r := Raster{DPI: dpi}
	for _, d := range page.Placed {
		if err := r.add(d.Symbol); err != nil {
			return Raster{}, err
		}
	}
	width, height := c.dots(page.Width), c.dots(page.Height)
	if n := int64(width) * int64(height); n > MaxDots {
		return Raster{}, fmt.Errorf("%w: at %d dots an inch the page has %d × %d = %d dots, at most %d are drawn",
			ErrDPI, dpi, width, height, n, MaxDots)
	}
	all, err := layers(page)
	if err != nil {
		return Raster{}, err
	}
	c.img = image.NewGray(image.Rect(0, 0, width, height))
	if len(all) > 1 {
		c.img = image.NewRGBA(image.Rect(0, 0, width, height))
	}
	draw.Draw(c.img, c.img.Bounds(), image.White, image.Point{}, draw.Src)
	if o.Outline {
		for _, p := range edges(page) {
			c.fill(p, image.Black)
		}
	}
	for _, l := range all {
		ink := image.NewUniform(color.RGBA{l.tint.R, l.tint.G, l.tint.B, 0xff})
		for _, p := range l.paths {
			c.fill(p, ink)
		}
		for _, s := range l.symbols {
			c.symbol(s, ink)
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, c.img); err != nil {
		return Raster{}, fmt.Errorf("encode: %w", err)
	}
	if _, err := w.Write(withResolution(b.Bytes(), dpi)); err != nil {
		return Raster{}, fmt.Errorf("write: %w", err)
	}
	return r, nil
}

// add measures one more symbol of the page.
func (r *Raster) add(s sheet.Symbol) error {
	if s.Module == 0 {
		return nil
	}
	c := canvas{dpi: r.DPI}
	one := Raster{DPI: r.DPI, Dots: c.dotsIn(s.Module), Wanted: s.Module}
	one.Module = c.length(one.Dots)
	one.Short = s.Side() - c.length(symbol.Modules*one.Dots)
	if one.Module < s.Smallest {
		return fmt.Errorf("%w: at %d dots an inch a module is %d dots = %s, at least %s lasts on the stock",
			ErrDPI, r.DPI, one.Dots, one.Module, s.Smallest)
	}
	// Compared as shares of the symbol, without a division.
	if r.Dots == 0 || one.Short*r.Wanted > r.Short*one.Wanted {
		*r = one
	}
	return nil
}

// A canvas is a picture under way.
type canvas struct {
	img draw.Image
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

// length is that of a number of dots, rounded down.
func (c canvas) length(dots int) quantity.Length {
	return quantity.Length(int64(dots) * int64(quantity.Inch) / int64(c.dpi))
}

// fill inks a path, smoothing its edges.
func (c canvas) fill(p sheet.Path, ink image.Image) {
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
	z.Draw(c.img, box, ink, image.Point{})
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
func (c canvas) symbol(s sheet.Symbol, ink image.Image) {
	dots := c.dotsIn(s.Module)
	slack := c.exact(s.Side()) - float64(symbol.Modules*dots)
	left, top := int(c.exact(s.At.X)+slack/2+0.5), int(c.exact(s.At.Y)+slack/2+0.5)
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			if s.Dark(column, row) {
				x, y := left+column*dots, top+row*dots
				draw.Draw(c.img, image.Rect(x, y, x+dots, y+dots), ink, image.Point{}, draw.Src)
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
