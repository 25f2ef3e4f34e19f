package sheet

import (
	"fmt"
	"math"
	"sync"
	"unicode/utf8"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"cribgate/core/quantity"
	"cribgate/printtemplates"
)

// FontFile returns the TrueType file of a font. The bytes are shared and must
// not be changed.
func FontFile(f printtemplates.Font) []byte {
	if f == printtemplates.Bold {
		return gobold.TTF
	}
	return goregular.TTF
}

// A face is a parsed font with the letters that were asked for, since the same
// few stand on every tag.
type face struct {
	font    *sfnt.Font
	letters sync.Map // rune to *letter
}

// A letter is one outline and how far it moves the pen, in the font's own
// units.
type letter struct {
	advance  int64
	segments sfnt.Segments
	bounds   fixed.Rectangle26_6
}

// faces holds the parsed fonts; parsing does not copy them.
var faces = sync.OnceValues(func() (map[printtemplates.Font]*face, error) {
	all := map[printtemplates.Font]*face{}
	for _, f := range []printtemplates.Font{printtemplates.Regular, printtemplates.Bold} {
		parsed, err := sfnt.Parse(FontFile(f))
		if err != nil {
			return nil, fmt.Errorf("sheet: parse font %d: %w", f, err)
		}
		all[f] = &face{font: parsed}
	}
	return all, nil
})

// letter takes one letter from the font. It fails with ErrGlyph.
func (f *face) letter(r rune) (*letter, error) {
	if l, ok := f.letters.Load(r); ok {
		return l.(*letter), nil
	}
	var buf sfnt.Buffer
	index, err := f.font.GlyphIndex(&buf, r)
	if err != nil {
		return nil, fmt.Errorf("sheet: find %q in the font: %w", r, err)
	}
	if index == 0 {
		return nil, fmt.Errorf("%w: %q (U+%04X)", ErrGlyph, r, r)
	}
	ppem := fixed.Int26_6(f.font.UnitsPerEm() << 6) // one pixel is one unit: nothing is rounded
	segments, err := f.font.LoadGlyph(&buf, index, ppem, nil)
	if err != nil {
		return nil, fmt.Errorf("sheet: load %q from the font: %w", r, err)
	}
	advance, err := f.font.GlyphAdvance(&buf, index, ppem, font.HintingNone)
	if err != nil {
		return nil, fmt.Errorf("sheet: measure %q in the font: %w", r, err)
	}
	l := &letter{int64(advance >> 6), append(sfnt.Segments(nil), segments...), segments.Bounds()}
	f.letters.Store(r, l)
	return l, nil
}

// A shape is a text's outline in the font's own units, y downward, with the
// start of its baseline at 0, 0.
type shape struct {
	unitsPerEm int64
	advance    int64
	glyphs     []glyph
}

// A glyph is one letter and where on the line it begins.
type glyph struct {
	at int64
	*letter
}

// shapeOf takes a text's letters from a font. No pair is kerned, so that every
// writer sets the same width. It fails with ErrGlyph for what the font lacks.
func shapeOf(text string, f printtemplates.Font) (shape, error) {
	if !utf8.ValidString(text) {
		return shape{}, fmt.Errorf("%w: %q is not UTF-8", ErrGlyph, text)
	}
	all, err := faces()
	if err != nil {
		return shape{}, err
	}
	face := all[f]
	s := shape{unitsPerEm: int64(face.font.UnitsPerEm()), glyphs: make([]glyph, 0, len(text))}
	for _, r := range text {
		l, err := face.letter(r)
		if err != nil {
			return shape{}, fmt.Errorf("%w in %q", err, text)
		}
		s.glyphs = append(s.glyphs, glyph{s.advance, l})
		s.advance += l.advance
	}
	return s, nil
}

// width is the length of the line at a type size, rounded up.
func (s shape) width(size quantity.Length) quantity.Length {
	return quantity.Length((s.advance*int64(size) + s.unitsPerEm - 1) / s.unitsPerEm)
}

// largest is the largest type at which the line is no longer than width.
func (s shape) largest(width quantity.Length) quantity.Length {
	if s.advance == 0 {
		return width
	}
	return quantity.Length(int64(width) * s.unitsPerEm / s.advance)
}

// ink returns the area within which the letters at a type size lie, their
// baseline beginning at a point.
func (s shape) ink(size quantity.Length, at Point) Rect {
	var box fixed.Rectangle26_6
	for _, g := range s.glyphs {
		b := g.bounds
		shift := fixed.Point26_6{X: fixed.Int26_6(g.at << 6)}
		box = box.Union(fixed.Rectangle26_6{Min: b.Min.Add(shift), Max: b.Max.Add(shift)})
	}
	return Rect{
		pt(at.X+s.scale(3*int64(box.Min.X), size), at.Y+s.scale(3*int64(box.Min.Y), size)),
		pt(at.X+s.scale(3*int64(box.Max.X), size), at.Y+s.scale(3*int64(box.Max.Y), size)),
	}
}

// outline returns the letters at a type size, their baseline beginning at a
// point. The fonts' quadratic curves become cubic ones.
func (s shape) outline(size quantity.Length, at Point) Path {
	var path Path
	for _, g := range s.glyphs {
		place := func(p fixed.Point26_6) Point {
			return pt(at.X+s.scale(3*(g.at<<6+int64(p.X)), size), at.Y+s.scale(3*int64(p.Y), size))
		}
		// twoThirds is the control point of a cubic near an end of a quadratic.
		twoThirds := func(end, control fixed.Point26_6) Point {
			x, y := int64(end.X+2*control.X), int64(end.Y+2*control.Y)
			return pt(at.X+s.scale(3*g.at<<6+x, size), at.Y+s.scale(y, size))
		}
		var last fixed.Point26_6
		for _, seg := range g.segments {
			a := seg.Args
			switch seg.Op {
			case sfnt.SegmentOpMoveTo:
				path.add(Move, place(a[0]))
				last = a[0]
			case sfnt.SegmentOpLineTo:
				path.add(Line, place(a[0]))
				last = a[0]
			case sfnt.SegmentOpQuadTo:
				path.add(Cube, twoThirds(last, a[0]), twoThirds(a[1], a[0]), place(a[1]))
				last = a[1]
			case sfnt.SegmentOpCubeTo:
				path.add(Cube, place(a[0]), place(a[1]), place(a[2]))
				last = a[2]
			}
		}
	}
	return path
}

// scale turns thirds of 64ths of a font unit into micrometres, to the nearest.
func (s shape) scale(v int64, size quantity.Length) quantity.Length {
	per := 3 * s.unitsPerEm << 6
	return quantity.Length(math.Round(float64(v*int64(size)) / float64(per)))
}

// Outline returns the text's letters as areas to fill.
func (t Text) Outline() (Path, error) {
	s, err := shapeOf(t.String, t.Font)
	if err != nil {
		return nil, err
	}
	return s.outline(t.Size, t.At), nil
}
