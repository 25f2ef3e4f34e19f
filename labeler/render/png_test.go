package render_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/png"
	"io"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

func TestPNGReadsBack(t *testing.T) {
	for _, stock := range stocks(t) {
		for _, text := range []string{body, prefix + body} {
			d := drawing(t, stock, text)
			if d.Symbol.Module == 0 {
				continue
			}
			for _, dpi := range resolutions() {
				data, raster := pngOf(t, d, dpi, render.Options{})
				img, err := png.Decode(bytes.NewReader(data))
				if err != nil {
					t.Fatal(err)
				}
				got, err := read(img)
				if err != nil || got != text {
					t.Errorf("%s at %d dpi: read %q, %v", stock.Name, dpi, got, err)
				}
				// Whole dots, as many as go into the module.
				if raster.Dots != int(int64(d.Symbol.Module)*int64(dpi)/25_400) || raster.Wanted != d.Symbol.Module {
					t.Errorf("%s at %d dpi: %+v", stock.Name, dpi, raster)
				}
				checkModules(t, img, d.Page().Placed[0], raster)
				checkSize(t, data, img, d, dpi)
			}
		}
	}
}

// checkModules holds every dot of the symbol and its quiet zone against the
// grid: modules are alike, and on whole dots.
func checkModules(t *testing.T, img image.Image, d sheet.Placed, r render.Raster) {
	t.Helper()
	d.Symbol.At.X += d.At.X
	d.Symbol.At.Y += d.At.Y
	grey := greyOf(img)
	dark := func(x, y int) bool { return grey.GrayAt(x, y).Y < 0x80 }
	top := -1
	left := img.Bounds().Max.X
	// The symbol's corner is the first dark dot in the square of the symbol.
	dots := func(l quantity.Length) int { return int(int64(l) * int64(r.DPI) / 25_400) }
	for y := dots(d.Symbol.At.Y) - 1; top < 0; y++ {
		for x := dots(d.Symbol.At.X) - 1; x < dots(d.Symbol.At.X+d.Symbol.Side()); x++ {
			if dark(x, y) {
				top, left = y, x
				break
			}
		}
	}
	for y := -symbol.QuietZone * r.Dots; y < (symbol.Modules+symbol.QuietZone)*r.Dots; y++ {
		for x := -symbol.QuietZone * r.Dots; x < (symbol.Modules+symbol.QuietZone)*r.Dots; x++ {
			inside := x >= 0 && y >= 0
			if v := grey.GrayAt(left+x, top+y).Y; v != 0 && v != 0xff {
				t.Fatalf("%d dpi: dot %d,%d of the symbol is grey", r.DPI, x, y)
			}
			if want := inside && d.Symbol.Dark(x/r.Dots, y/r.Dots); dark(left+x, top+y) != want {
				t.Fatalf("%d dpi: dot %d,%d of the symbol dark: %v", r.DPI, x, y, !want)
			}
		}
	}
	// In the middle of its place, to a dot.
	centre := func(at quantity.Length) float64 {
		return float64(at+d.Symbol.Side()/2) * float64(r.DPI) / 25_400
	}
	half := float64(symbol.Modules*r.Dots) / 2
	if dx, dy := float64(left)+half-centre(d.Symbol.At.X), float64(top)+half-centre(d.Symbol.At.Y); dx*dx > 1 || dy*dy > 1 {
		t.Errorf("%d dpi: symbol is %.1f, %.1f dots off its place", r.DPI, dx, dy)
	}
}

// checkSize wants the picture to be as large as the blank, to a dot, and to
// say its resolution.
func checkSize(t *testing.T, data []byte, img image.Image, d sheet.Drawing, dpi int) {
	t.Helper()
	for _, c := range []struct {
		dots int
		want quantity.Length
	}{{img.Bounds().Dx(), d.Width}, {img.Bounds().Dy(), d.Height}} {
		got := quantity.Length(int64(c.dots) * 25_400 / int64(dpi))
		if off := got - c.want; off > quantity.Length(25_400/dpi) || -off > quantity.Length(25_400/dpi) {
			t.Errorf("%d dpi: %s is drawn %s", dpi, c.want, got)
		}
	}
	i := bytes.Index(data, []byte("pHYs"))
	if i < 0 {
		t.Fatalf("%d dpi: no pHYs chunk", dpi)
	}
	x, y, unit := binary.BigEndian.Uint32(data[i+4:]), binary.BigEndian.Uint32(data[i+8:]), data[i+12]
	if x != y || unit != 1 || int(float64(x)*0.0254+0.5) != dpi {
		t.Errorf("%d dpi: pHYs says %d, %d, unit %d", dpi, x, y, unit)
	}
}

func TestPNGRefusesResolution(t *testing.T) {
	d := drawing(t, stocks(t)[0], body)
	for _, c := range []struct {
		dpi  int
		want string // empty: drawn
	}{
		{99, "not from 100 to 2400"},
		{2401, "not from 100 to 2400"},
		{149, ""}, // 0.68 mm are 3.99 dots; 3 dots are 0.511 mm, over the stock's 0.5 mm
		{112, "a module is 2 dots = 0.453 mm, at least 0.5 mm"}, // 2.998 dots
	} {
		_, err := render.PNG(io.Discard, d.Page(), c.dpi, render.Options{})
		switch {
		case c.want == "" && err != nil:
			t.Errorf("%d dpi: %v", c.dpi, err)
		case c.want != "" && (!errors.Is(err, render.ErrDPI) || !strings.Contains(err.Error(), c.want)):
			t.Errorf("%d dpi: error %v, want %q", c.dpi, err, c.want)
		}
	}
}

// The PNG of a tag that was laid out has clean metal in the quiet zone, in the
// hole and beyond the edge, and reads back; what is not laid out is refused
// with one of the known reasons.
func TestLaidOutIsClean(t *testing.T) {
	all := stocks(t)
	words := []printtemplates.Word{printtemplates.ID, printtemplates.Load, printtemplates.Angle, printtemplates.Reach, printtemplates.Legs}
	drawn := 0
	rapid.Check(t, func(t *rapid.T) {
		stock := rapid.SampledFrom(all).Draw(t, "stock")
		content := content(t, stock, body)
		for _, w := range words {
			content.Facts[w] = rapid.StringOfN(rapid.RuneFrom([]rune("AWM019 -./°½⌀gjq,")), 0, 24, -1).Draw(t, string(w))
		}
		// Moving a line or the hole makes most layouts bad: some must be refused.
		if rapid.Bool().Draw(t, "moved") {
			fields := append([]printtemplates.Field(nil), stock.Fields...)
			f := &fields[rapid.IntRange(0, len(fields)-1).Draw(t, "field")]
			f.At.Y += quantity.Length(rapid.IntRange(-9000, 9000).Draw(t, "down"))
			stock.Fields = fields
			stock.Hole.Centre.X += quantity.Length(rapid.IntRange(-9000, 9000).Draw(t, "hole"))
		}
		d, err := sheet.Layout(stock, content)
		if err != nil {
			for _, known := range []error{sheet.ErrFit, sheet.ErrGlyph, sheet.ErrOverlap, sheet.ErrEdge, sheet.ErrMissing} {
				if errors.Is(err, known) {
					return
				}
			}
			t.Fatalf("refused for no known reason: %v", err)
		}
		drawn++
		var b bytes.Buffer
		if _, err := render.PNG(&b, d.Page(), 203, render.Options{}); err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := read(img); d.Symbol.Module > 0 && (err != nil || got != body) {
			t.Fatalf("read %q, %v", got, err)
		}
		checkApart(t, d)
		grey := greyOf(img)
		mm := func(n int) float64 { return float64(n) * 25.4 / 203 }
		um := func(l quantity.Length) float64 { return float64(l) / 1000 }
		q := stock.Symbol
		for y := range img.Bounds().Dy() {
			for x := range img.Bounds().Dx() {
				if grey.GrayAt(x, y).Y == 0xff {
					continue
				}
				// The dot covers from x to x+1: inked where its nearer side is.
				px, py := mm(x)+mm(1)/2, mm(y)+mm(1)/2
				slack := mm(1)
				inQuiet := px > um(q.At.X)+slack && px < um(q.At.X+q.Side)-slack && py > um(q.At.Y)+slack && py < um(q.At.Y+q.Side)-slack
				grid := d.Symbol
				inGrid := px > um(grid.At.X)-slack && px < um(grid.At.X+grid.Side())+slack && py > um(grid.At.Y)-slack && py < um(grid.At.Y+grid.Side())+slack
				if q.Side > 0 && inQuiet && !inGrid {
					t.Fatalf("ink in the quiet zone at %.2f, %.2f mm", px, py)
				}
				hx, hy := px-um(stock.Hole.Centre.X), py-um(stock.Hole.Centre.Y)
				if r := um(stock.Hole.Diameter)/2 + um(stock.Margin) - slack; stock.Hole.Diameter > 0 && hx*hx+hy*hy < r*r {
					t.Fatalf("ink in the hole at %.2f, %.2f mm", px, py)
				}
				if stock.Round {
					ex, ey := px-um(stock.Width)/2, py-um(stock.Height)/2
					if r := um(stock.Width)/2 - um(stock.Margin) + slack; ex*ex+ey*ey > r*r {
						t.Fatalf("ink at the edge at %.2f, %.2f mm", px, py)
					}
				}
			}
		}
	})
	if drawn == 0 {
		t.Error("no layout was drawn: the property held for nothing")
	}
}

// checkApart measures the letters themselves: no line of text lies over another
// one or over the edge of the blank.
func checkApart(t *rapid.T, d sheet.Drawing) {
	t.Helper()
	var boxes []sheet.Rect
	for _, text := range d.Texts {
		path, err := text.Outline()
		if err != nil {
			t.Fatal(err)
		}
		if len(path) == 0 { // nothing but spaces
			continue
		}
		box := sheet.Rect{Min: path[0].To[0], Max: path[0].To[0]}
		for _, seg := range path {
			for _, p := range seg.Points() {
				box.Min.X, box.Min.Y = min(box.Min.X, p.X), min(box.Min.Y, p.Y)
				box.Max.X, box.Max.Y = max(box.Max.X, p.X), max(box.Max.Y, p.Y)
			}
		}
		if box.Min.X < 0 || box.Min.Y < 0 || box.Max.X > d.Width || box.Max.Y > d.Height {
			t.Fatalf("%q lies over the edge: %v", text.String, box)
		}
		// Control points may lie outside of what is inked, by less than this.
		const slack = 100
		for i, other := range boxes {
			if min(box.Max.X, other.Max.X)-max(box.Min.X, other.Min.X) > slack && min(box.Max.Y, other.Max.Y)-max(box.Min.Y, other.Min.Y) > slack {
				t.Fatalf("%q lies over text %d: %v and %v", text.String, i, box, other)
			}
		}
		boxes = append(boxes, box)
	}
}
