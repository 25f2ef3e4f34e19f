package camera

import (
	"image"
	"math"

	"cribgate/kiosk/scan"
)

// An Advice says what would help the camera. The zero value is none: the tag is read.
type Advice uint8

// The advice, from what was measured in the picture.
const (
	ReadIt    Advice = iota
	Looking          // no symbol to be seen, and nothing against it
	TooDark          // hardly anything brighter than black
	TooBright        // much of it burnt out to white, or glare over a symbol
	Closer           // a symbol, and too few pixels to a module
	HoldStill        // it moves, or is blurred
	TurnIt           // a symbol seen from its side
	lastAdvice
)

var adviceWords = [...]struct{ name, words string }{
	ReadIt:    {"read", "Read"},
	Looking:   {"looking", "Looking for a tag"},
	TooDark:   {"dark", "Too dark"},
	TooBright: {"bright", "Too bright, tilt it away from the light"},
	Closer:    {"closer", "Closer"},
	HoldStill: {"still", "Hold still"},
	TurnIt:    {"turn", "Turn it to the camera"},
}

// String is a short name.
func (a Advice) String() string {
	if a >= lastAdvice {
		return "unknown"
	}
	return adviceWords[a].name
}

// Words say it to a person.
func (a Advice) Words() string {
	if a >= lastAdvice {
		return ""
	}
	return adviceWords[a].words
}

// Limits of what is measured (site policy, no source; set by the pictures of the
// tests, which are printed tags made dark, bright, small, blurred and slanted).
const (
	darkTop    = 70   // the brightest twentieth is below this, of 255
	whiteFrom  = 250  // burnt out
	whiteShare = 0.45 // of the picture
	fewPixels  = 2.6  // to a module; the reader wants somewhat more than two
	slanted    = 0.62 // shorter to longer side of the symbol; 1 from the front
	moved      = 9.0  // mean difference of brightness to the frame before
	thumb      = 32   // a side of the small picture that motion is measured in
)

// measured is what one frame says about how it was taken.
type measured struct {
	top    int     // brightness that a twentieth of the pixels reach
	white  float64 // share that is burnt out
	small  [thumb * thumb]uint8
	pixels float64 // to a module of the symbol, 0: no symbol
	lean   float64 // shorter to longer side of the symbol
}

// measure looks at every pixel once, and at the finders.
func measure(m *image.Gray, finders []scan.Finder) measured {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	var shades [256]int
	var sums, counts [thumb * thumb]int
	var cell [MaxSide]int
	for x := range w {
		cell[x] = x * thumb / w
	}
	for y := range h {
		row := y * thumb / h * thumb
		for x, v := range m.Pix[y*m.Stride : y*m.Stride+w] {
			shades[v]++
			sums[row+cell[x]] += int(v)
			counts[row+cell[x]]++
		}
	}
	var out measured
	burnt, above := 0, 0
	for v := 255; v >= 0; v-- {
		if v >= whiteFrom {
			burnt += shades[v]
		}
		if above += shades[v]; out.top == 0 && above*20 >= w*h {
			out.top = v
		}
	}
	out.white = float64(burnt) / float64(w*h)
	for i, n := range counts {
		if n > 0 {
			out.small[i] = uint8(sums[i] / n)
		}
	}
	if len(finders) == 3 {
		out.pixels, out.lean = shape(finders)
	}
	return out
}

// shape says how large the modules of a symbol are seen, and how much it leans: the
// two sides between the three finders are equally long and at right angles when it
// is seen from the front.
func shape(f []scan.Finder) (pixels, lean float64) {
	far := func(a, b scan.Finder) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }
	sides := [3]float64{far(f[0], f[1]), far(f[0], f[2]), far(f[1], f[2])}
	long := max(sides[0], sides[1], sides[2])
	var a, b float64 // the two that are not the diagonal
	switch long {
	case sides[0]:
		a, b = sides[1], sides[2]
	case sides[1]:
		a, b = sides[0], sides[2]
	default:
		a, b = sides[0], sides[1]
	}
	if a == 0 || b == 0 {
		return 0, 0
	}
	// The sine of the angle between the sides shortens one of them as well.
	cos := (a*a + b*b - long*long) / (2 * a * b)
	lean = min(a, b) / max(a, b) * math.Sqrt(max(0, 1-cos*cos))
	return (f[0].Module + f[1].Module + f[2].Module) / 3, lean
}

// motion is the mean difference between two small pictures.
func motion(a, b *[thumb * thumb]uint8) float64 {
	sum := 0
	for i := range a {
		sum += int(max(a[i], b[i]) - min(a[i], b[i]))
	}
	return float64(sum) / float64(len(a))
}

// adviser gives advice frame by frame. It changes its mind when two frames in a row
// say the same, so that words do not flicker. The zero value has seen nothing.
type adviser struct {
	last     measured
	any      bool
	said     Advice
	now      Advice
	repeated int
}

// see takes a frame that was read, or was not, and gives the advice.
func (a *adviser) see(m *image.Gray, finders []scan.Finder, read bool) Advice {
	seen := measure(m, finders)
	now := seen.advice(motion(&seen.small, &a.last.small), a.any)
	if read {
		now = ReadIt
	}
	a.last = seen
	if now == a.now {
		a.repeated++
	} else {
		a.now, a.repeated = now, 1
	}
	if !a.any || now == ReadIt || a.repeated >= 2 {
		a.said = now
	}
	a.any = true
	return a.said
}

// advice is what a frame that was not read asks for, the first thing first: light,
// then size, then rest, then the angle.
func (m measured) advice(motion float64, follows bool) Advice {
	symbol := m.pixels > 0
	switch {
	case m.top < darkTop:
		return TooDark
	case m.white > whiteShare && !symbol:
		return TooBright
	case symbol && m.pixels < fewPixels:
		return Closer
	case follows && motion > moved:
		return HoldStill
	case symbol && m.lean < slanted:
		return TurnIt
	case symbol && m.white > whiteShare/2:
		return TooBright
	case symbol:
		return HoldStill
	}
	return Looking
}
