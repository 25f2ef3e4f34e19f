package camera

import (
	"image"
	"math/rand/v2"
	"testing"

	"cribgate/kiosk/scan"
	"cribgate/kiosk/web/webtest"
)

// tagText has the length and the characters of a tag's text, and is none.
const tagText = "CRIBGATE234567ABCDEFGHIJKLMNOPQRSTUVWXYZ234567ABCDEFGHIJKLMNOPQR"

var frameSize = image.Pt(640, 480)

// through is a picture in which each pixel is worked out from another one.
func through(m *image.Gray, shade func(x, y int) uint8) *image.Gray {
	out := image.NewGray(m.Rect)
	for y := range m.Rect.Dy() {
		for x := range m.Rect.Dx() {
			out.Pix[y*out.Stride+x] = shade(x, y)
		}
	}
	return out
}

func lit(m *image.Gray, gain, lift int) *image.Gray {
	return through(m, func(x, y int) uint8 {
		return uint8(min(max(int(m.GrayAt(x, y).Y)*gain/100+lift, 0), 255))
	})
}

func shifted(m *image.Gray, dx int) *image.Gray {
	return through(m, func(x, y int) uint8 { return m.GrayAt(min(max(x-dx, 0), m.Rect.Dx()-1), y).Y })
}

// blurred is a picture that moved so many pixels while it was taken.
func blurred(m *image.Gray, n int) *image.Gray {
	return through(m, func(x, y int) uint8 {
		sum := 0
		for i := range n {
			sum += int(m.GrayAt(min(x+i, m.Rect.Dx()-1), min(y+i, m.Rect.Dy()-1)).Y)
		}
		return uint8(sum / n)
	})
}

// aslant is a picture seen from the side: so many hundredths as wide.
func aslant(m *image.Gray, hundredths int) *image.Gray {
	middle := m.Rect.Dx() / 2
	return through(m, func(x, y int) uint8 {
		return m.GrayAt(min(max(middle+(x-middle)*100/hundredths, 0), m.Rect.Dx()-1), y).Y
	})
}

// shrunk is a picture seen from further away: so many hundredths as large.
func shrunk(m *image.Gray, hundredths int) *image.Gray {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	return through(m, func(x, y int) uint8 {
		sum := 0
		for i := range 16 { // a pixel sees a part of the tag that is larger than a pixel was
			from := func(at, middle, part int) int { return middle + ((at-middle)*4+part)*25/hundredths }
			sum += int(m.GrayAt(min(max(from(x, w/2, i%4), 0), w-1), min(max(from(y, h/2, i/4), 0), h-1)).Y)
		}
		return uint8(sum / 16)
	})
}

// noisy is a picture in which the camera itself adds something to each pixel.
func noisy(m *image.Gray) *image.Gray {
	r := rand.New(rand.NewPCG(1, 2))
	return through(m, func(x, y int) uint8 { return m.GrayAt(x, y).Y + uint8(r.IntN(12)) })
}

// still is a picture over some frames.
func still(m *image.Gray) []*image.Gray { return []*image.Gray{m, m, m, m, m} }

// glared is a picture with a blot of light that washes out to its edge.
func glared(m *image.Gray, at image.Point, radius int) *image.Gray {
	return through(m, func(x, y int) uint8 {
		d := (x-at.X)*(x-at.X) + (y-at.Y)*(y-at.Y)
		return uint8(min(int(m.GrayAt(x, y).Y)+max(0, 500*(radius*radius-d)/(radius*radius)), 255))
	})
}

// TestAdvice shows printed tags made hard to read, and says what was measured.
func TestAdvice(t *testing.T) {
	tag, wall := webtest.Held(t, tagText, frameSize, 8), webtest.Held(t, "", frameSize, 8)
	for _, row := range []struct {
		name   string
		frames []*image.Gray
		want   Advice
	}{
		{"a tag", still(tag), ReadIt},
		{"a tag at four pixels to a module", still(webtest.Held(t, tagText, frameSize, 4)), ReadIt},
		{"a tag light on dark", still(lit(tag, -100, 255)), ReadIt},
		{"a wall", still(wall), Looking},
		{"a wall in the dark", still(lit(wall, 30, 0)), TooDark},
		{"a tag in the dark", still(noisy(lit(tag, 1, 8))), TooDark},
		{"a lamp", still(lit(wall, 100, 160)), TooBright},
		{"a tag in glare", still(glared(tag, image.Pt(320, 240), 330)), TooBright},
		{"a tag far away", still(shrunk(tag, 14)), Closer},
		{"a tag very far away", still(shrunk(tag, 12)), Closer},
		{"a tag carried past", []*image.Gray{blurred(tag, 18), blurred(shifted(tag, 90), 18), blurred(shifted(tag, 180), 18)}, HoldStill},
		{"a tag that shakes a little", still(blurred(tag, 15)), ReadIt},
		{"a tag that shakes", still(blurred(tag, 18)), HoldStill},
		{"a tag seen from the side", still(aslant(tag, 45)), ReadIt},
		{"a tag seen from farther to the side", still(aslant(tag, 32)), TurnIt},
		{"a tag seen from far to the side", still(aslant(tag, 25)), TurnIt},
	} {
		var a adviser
		var said Advice
		var err error
		for i, m := range row.frames {
			_, err = scan.Glance(m, i)
			said = a.see(m, err)
		}
		if said != row.want {
			m := a.last
			t.Errorf("%s: %q, want %q (%v, top %d, white %.2f, patch %+v)", row.name, said.Words(), row.want.Words(), err, m.top, m.white, m.patch)
		}
	}
}

// TestAdviceDoesNotFlicker: a frame that says something else changes nothing until the
// next one agrees, and what is read is said at once.
func TestAdviceDoesNotFlicker(t *testing.T) {
	wall := webtest.Held(t, "", frameSize, 8)
	dark := lit(wall, 30, 0)
	var a adviser
	for i, row := range []struct {
		m    *image.Gray
		read error
		want Advice
	}{
		{wall, scan.NoSymbol, Looking}, {dark, scan.NoSymbol, Looking}, {wall, scan.NoSymbol, Looking},
		{dark, scan.NoSymbol, Looking}, {dark, scan.NoSymbol, TooDark}, {wall, nil, ReadIt}, {dark, scan.NoSymbol, ReadIt}, {dark, scan.NoSymbol, TooDark},
	} {
		if got := a.see(row.m, row.read); got != row.want {
			t.Errorf("frame %d: %v, want %v", i, got, row.want)
		}
	}
}

// TestOutlineLiesOnTheSymbol: its corners are where the tag was drawn.
func TestOutlineLiesOnTheSymbol(t *testing.T) {
	m := webtest.Held(t, tagText, frameSize, 8)
	s, err := scan.Glance(m, 0)
	if err != nil {
		t.Fatal(err)
	}
	const side = 37 * 8
	left, top := float64(640-side)/2, float64(480-side)/2
	corners := outline(s, Frame{Width: 640, Height: 480})
	for i, want := range [][2]float64{{left, top}, {left + side, top}, {left + side, top + side}, {left, top + side}} {
		x, y := corners[i][0]*640, corners[i][1]*480
		if max(x-want[0], want[0]-x, y-want[1], want[1]-y) > 8 {
			t.Errorf("corner %d at %.0f, %.0f, want %v", i, x, y, want)
		}
	}
}

// BenchmarkFrame is how long one core takes over a frame, from its bytes to the advice.
func BenchmarkFrame(b *testing.B) {
	size := image.Pt(1000, 750)
	tag, wall := webtest.Held(b, tagText, size, 8), webtest.Held(b, "", size, 8)
	for name, frames := range map[string][]*image.Gray{
		"tag": {tag}, "wall": {wall}, "blurred": {blurred(tag, 9)},
	} {
		b.Run(name, func(b *testing.B) {
			var a adviser
			turn := 0
			for b.Loop() {
				m := frames[turn%len(frames)]
				_, err := scan.Glance(m, turn)
				a.see(m, err)
				turn++
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "frames/s/core")
		})
	}
	b.Run("jpeg", func(b *testing.B) {
		f := Frame{Kind: JPEG, Width: size.X, Height: size.Y, pixels: encoded(b, tag)}
		for b.Loop() {
			m, err := f.Picture()
			if err != nil {
				b.Fatal(err)
			}
			if _, err := scan.Glance(m, 0); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "frames/s/core")
	})
}
