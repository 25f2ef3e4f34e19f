package sheet_test

import (
	"image"
	"image/color"
	"math"
	"sync"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// dots is how fine a proof is drawn: dots a millimetre.
const dots = 20

func exact(l quantity.Length) float64 { return float64(l) * dots / float64(mm) }

// A proof is a drawing as dots, each claimed by one thing at most. Letters are
// set with another library's rasteriser from the fonts themselves, not from the
// outlines or the boxes of the layout.
type proof struct {
	t     *rapid.T
	stock printtemplates.Stock
	w, h  int
	owner []int // which thing a dot belongs to, from 1
	names []string
	band  []bool // the period's area
	grey  *image.Gray
}

// prove holds a drawing against what the package promises of it.
func prove(t *rapid.T, stock printtemplates.Stock, c sheet.Content, d sheet.Drawing) {
	p := proof{t: t, stock: stock, w: int(exact(d.Width)) + 1, h: int(exact(d.Height)) + 1}
	p.owner, p.band = make([]int, p.w*p.h), make([]bool, p.w*p.h)
	p.grey = image.NewGray(image.Rect(0, 0, p.w, p.h))
	for i := range p.grey.Pix {
		p.grey.Pix[i] = 0xff
	}
	for i, a := range d.Ink {
		mask := p.fill(a.Path)
		if i == 0 && stock.Period.Width > 0 && c.Period != printtemplates.NoColour {
			p.each(mask, func(at int) { p.band[at] = true })
			continue
		}
		p.claim("ink", mask)
	}
	texts, fields := wanted(stock, c)
	if len(d.Texts) < len(texts) {
		t.Fatalf("%d texts of %d", len(d.Texts), len(texts))
	}
	for i, x := range d.Texts {
		smallest, largest, room := stock.Marks.Smallest, stock.Marks.Size, quantity.Length(math.MaxInt64)
		if i < len(texts) {
			if x.String != texts[i] {
				t.Fatalf("text %d is %q, want %q", i, x.String, texts[i])
			}
			smallest, largest, room = fields[i].Smallest, fields[i].Size, fields[i].Width
		}
		if x.Size < smallest || x.Size > largest {
			t.Fatalf("%q is set in %s, from %s to %s were asked for", x.String, x.Size, smallest, largest)
		}
		mask, width := p.letters(x)
		if room < math.MaxInt64 && width > exact(room)+1 {
			t.Fatalf("%q is %.2f mm long and has %s", x.String, width/dots, room)
		}
		on, off := 0, 0
		p.each(mask, func(at int) {
			if p.band[at] {
				on++
			} else {
				off++
			}
		})
		if on > 0 && off > 0 {
			t.Fatalf("%q stands half on the period's area", x.String)
		}
		p.claim(x.String, mask)
	}
	p.symbol(d)
}

// claim gives a thing its dots.
func (p *proof) claim(name string, mask *image.Alpha) {
	p.names = append(p.names, name)
	me := len(p.names)
	p.each(mask, func(at int) {
		if other := p.owner[at]; other != 0 {
			p.t.Fatalf("%q lies on %q at %s", name, p.names[other-1], p.place(at))
		}
		p.owner[at] = me
		if by := p.outside(at); by > 0 {
			p.t.Fatalf("%q lies %.2f mm outside of where may be printed, at %s", name, by, p.place(at))
		}
		p.grey.Pix[at] = 0
	})
}

// each goes through the dots that a mask covers by half or more.
func (p *proof) each(mask *image.Alpha, do func(at int)) {
	for y := mask.Rect.Min.Y; y < mask.Rect.Max.Y; y++ {
		for x := mask.Rect.Min.X; x < mask.Rect.Max.X; x++ {
			if mask.AlphaAt(x, y).A < 0x80 {
				continue
			}
			if x < 0 || y < 0 || x >= p.w || y >= p.h {
				p.t.Fatalf("a dot lies off the blank, at %d, %d", x, y)
			}
			do(y*p.w + x)
		}
	}
}

func (p *proof) place(at int) string {
	return (quantity.Length(at%p.w) * mm / dots).String() + ", " + (quantity.Length(at/p.w) * mm / dots).String()
}

// outside says how far the middle of a dot lies, in millimetres, beyond where
// may be printed; a dot's half width is forgiven.
func (p *proof) outside(at int) float64 {
	x, y := (float64(at%p.w)+0.5)/dots, (float64(at/p.w)+0.5)/dots
	in := func(l quantity.Length) float64 { return float64(l) / float64(mm) }
	w, h, r, margin := in(p.stock.Width), in(p.stock.Height), in(p.stock.Corner), in(p.stock.Margin)
	if p.stock.Round {
		r = w / 2
	}
	// The distance to a rectangle with round corners, less than 0 inside of it.
	dx, dy := math.Abs(x-w/2)-(w/2-r), math.Abs(y-h/2)-(h/2-r)
	edge := math.Hypot(max(dx, 0), max(dy, 0)) + min(max(dx, dy), 0) - r
	most := edge + margin
	if hole := p.stock.Hole; hole.Diameter > 0 {
		most = max(most, in(hole.Diameter)/2+margin-math.Hypot(x-in(hole.Centre.X), y-in(hole.Centre.Y)))
	}
	for _, c := range p.stock.Clear {
		most = max(most, min(x-in(c.At.X), in(c.At.X+c.Width)-x, y-in(c.At.Y), in(c.At.Y+c.Height)-y))
	}
	return most - 0.75/dots // half a dot, across
}

// fill draws a path.
func (p *proof) fill(path sheet.Path) *image.Alpha {
	r := box(path)
	area := image.Rect(int(exact(r.Min.X))-1, int(exact(r.Min.Y))-1, int(exact(r.Max.X))+2, int(exact(r.Max.Y))+2)
	z := vector.NewRasterizer(area.Dx(), area.Dy())
	for _, seg := range path {
		var x, y [3]float32
		for i, q := range seg.Points() {
			x[i], y[i] = float32(exact(q.X))-float32(area.Min.X), float32(exact(q.Y))-float32(area.Min.Y)
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
	mask := image.NewAlpha(area)
	z.Draw(mask, mask.Rect, image.Opaque, image.Point{})
	return mask
}

// fonts are parsed once.
var fonts = sync.OnceValue(func() (all [2]*opentype.Font) {
	for _, f := range []printtemplates.Font{printtemplates.Regular, printtemplates.Bold} {
		face, err := opentype.Parse(sheet.FontFile(f))
		if err != nil {
			panic(err)
		}
		all[f] = face
	}
	return all
})

// letters sets a text and gives its length in dots.
func (p *proof) letters(x sheet.Text) (*image.Alpha, float64) {
	face, err := opentype.NewFace(fonts()[x.Font], &opentype.FaceOptions{Size: exact(x.Size), DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		p.t.Fatal(err)
	}
	defer face.Close() // holds no file
	var mask *image.Alpha
	at := fixed.Point26_6{X: fixed.Int26_6(math.Round(exact(x.At.X) * 64)), Y: fixed.Int26_6(math.Round(exact(x.At.Y) * 64))}
	start := at.X
	for _, r := range x.String {
		where, glyph, corner, advance, ok := face.Glyph(at, r)
		if !ok {
			p.t.Fatalf("%q: the font has no %q", x.String, r)
		}
		if mask == nil {
			mask = image.NewAlpha(where)
		}
		if !where.In(mask.Rect) {
			wider := image.NewAlpha(mask.Rect.Union(where))
			copyMask(wider, mask, mask.Rect, mask.Rect.Min)
			mask = wider
		}
		copyMask(mask, glyph, where, corner)
		at.X += advance
	}
	return mask, float64(at.X-start) / 64
}

func copyMask(to *image.Alpha, from image.Image, where image.Rectangle, corner image.Point) {
	for y := range where.Dy() {
		for x := range where.Dx() {
			_, _, _, a := from.At(corner.X+x, corner.Y+y).RGBA()
			if v := uint8(a >> 8); v > to.AlphaAt(where.Min.X+x, where.Min.Y+y).A {
				to.SetAlpha(where.Min.X+x, where.Min.Y+y, color.Alpha{A: v})
			}
		}
	}
}

// symbol wants a clean quiet zone of the stock's width around modules that last,
// and reads what it says.
func (p *proof) symbol(d sheet.Drawing) {
	s := d.Symbol
	if s.Module == 0 {
		if p.stock.Symbol.Side > 0 {
			p.t.Fatal("no symbol")
		}
		return
	}
	if s.Module < p.stock.Symbol.Smallest {
		p.t.Fatalf("modules of %s, at least %s last", s.Module, p.stock.Symbol.Smallest)
	}
	zone := quantity.Length(p.stock.Symbol.QuietZone) * s.Module
	dot := func(l quantity.Length) int { return int(math.Round(exact(l))) }
	area := image.Rect(dot(s.At.X-zone), dot(s.At.Y-zone), dot(s.At.X+s.Side()+zone), dot(s.At.Y+s.Side()+zone))
	for y := area.Min.Y; y < area.Max.Y; y++ {
		for x := area.Min.X; x < area.Max.X; x++ {
			at := y*p.w + x
			if x < 0 || y < 0 || x >= p.w || y >= p.h || p.outside(at) > 0 {
				p.t.Fatalf("the quiet zone reaches over the edge, at %d, %d", x, y)
			}
			if p.owner[at] != 0 || p.band[at] {
				p.t.Fatalf("the quiet zone is not clear at %s", p.place(at))
			}
			column := int(math.Floor((float64(x) + 0.5 - exact(s.At.X)) / exact(s.Module)))
			row := int(math.Floor((float64(y) + 0.5 - exact(s.At.Y)) / exact(s.Module)))
			if s.Dark(column, row) {
				p.grey.Pix[at] = 0
			}
		}
	}
	bitmap, err := gozxing.NewBinaryBitmapFromImage(p.grey.SubImage(area))
	if err != nil {
		p.t.Fatal(err)
	}
	got, err := qrcode.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]interface{}{gozxing.DecodeHintType_PURE_BARCODE: true})
	if err != nil || got.GetText() != body {
		p.t.Fatalf("the symbol of %d modules reads %v, %v", symbol.Modules, got, err)
	}
}
