package scan

import (
	"context"
	"image"
	"testing"

	qrencode "github.com/skip2/go-qrcode"
)

// TestAmongNestedSquares: a symbol is read on a sheet that is printed all over with what
// are its finders to the pixel, upright and upside down, since only what lies between the
// finders tells them from those.
func TestAmongNestedSquares(t *testing.T) {
	const text, pixels, pitch, width, height = "CC1-AMONG-NESTED-SQUARES", 5, 14, 1000, 700
	symbol := symbolOf(t, text, tagVersion, qrencode.Medium, pixels)
	m := image.NewGray(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			u, v := x/pixels%pitch-3, y/pixels%pitch-3
			light := byte(235)
			if ring := max(u-3, 3-u, v-3, 3-v); u >= 0 && v >= 0 && u < 7 && v < 7 && ring != 2 {
				light = 20
			}
			m.Pix[y*width+x] = light
		}
	}
	left, top := (width-symbol.Rect.Dx())/2, (height-symbol.Rect.Dy())/2
	for y := range symbol.Rect.Dy() {
		copy(m.Pix[(top+y)*width+left:], symbol.Pix[y*symbol.Stride:][:symbol.Rect.Dx()])
	}
	for range 2 {
		if seen, _, err := find(context.Background(), brightness(m), fullEffort, 0); err != nil || seen.text != text {
			t.Errorf("read %q, %v", seen.text, err)
		}
		for i, j := 0, len(m.Pix)-1; i < j; i, j = i+1, j-1 {
			m.Pix[i], m.Pix[j] = m.Pix[j], m.Pix[i]
		}
	}
}

// TestWhatAlternates: between two finders of a symbol, beside the line through their
// middles, something alternates on the one side and not on the other; between two nested
// squares as far apart nothing does.
func TestWhatAlternates(t *testing.T) {
	m := draw(37, 6, func(x, y int) bool {
		ring := func(cx, cy int) int { return max(x-cx, cx-x, y-cy, cy-y) }
		for _, c := range [...][2]int{{3, 3}, {33, 3}, {3, 33}, {33, 33}} {
			if r := ring(c[0], c[1]); r <= 3 {
				return r != 2
			}
		}
		return y == 6 && x >= 8 && x%2 == 0
	})
	s := new(search)
	s.reset(brightness(m), fullEffort)
	s.raised(1)
	at := func(column, row float64) mark {
		k, margin := 6., float64(m.Rect.Dx()-37*6)/2
		return mark{middle: point{margin + column*k, margin + row*k}, across: point{k, 0}, down: point{0, k}, likeness: 1}
	}
	s.marks = []mark{at(3.5, 3.5), at(33.5, 3.5), at(3.5, 33.5), at(33.5, 33.5)}
	s.link(1)
	for i := range s.marks {
		for _, l := range s.linksOf(i) {
			timed := i+l.to == 1 // the two at the top
			for side := range l.alternates {
				version := tagVersion - l.first
				if version < 0 || version >= linkVersions {
					t.Fatalf("from %d to %d the span is %v", i, l.to, l.span)
				}
				got := l.alternates[side][version]
				if want := timed && side == 0; (got > 0.6) != want || (got > 0.3) != want {
					t.Errorf("from %d to %d, side %d: %.2f", i, l.to, side, got)
				}
			}
		}
	}
}
