package camera

import (
	"errors"
	"image"

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
	whiteShare = 0.45 // of the picture; half of it where a symbol is to be seen
	fewPixels  = 2.6  // to a module; the reader wants somewhat more than two
	slanted    = 0.72 // lean of a patch; 1 from the front
	unsharp    = 0.33 // steepness of a patch; 1 sharp
	moved      = 9.0  // mean difference of brightness to the frame before
	thumb      = 32   // a side of the small picture that motion is measured in
	tagSide    = 37   // modules along a side of every tag
)

// measured is what one frame says about how it was taken.
type measured struct {
	top   int     // brightness that a twentieth of the pixels reach
	white float64 // share that is burnt out
	small [thumb * thumb]uint8
	patch patch
}

// measure looks at every second pixel of every second row, and for a patch.
func measure(m *image.Gray) measured {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	var shades [256]int
	var sums, counts [thumb * thumb]int
	all := 0
	for y := 0; y < h; y += 2 {
		row := y * thumb / h * thumb
		pixels := m.Pix[y*m.Stride : y*m.Stride+w]
		for column := range thumb {
			from, to := (column*w+thumb-1)/thumb, ((column+1)*w+thumb-1)/thumb
			sum, n := 0, 0
			for x := from; x < to; x += 2 {
				v := pixels[x]
				shades[v]++
				sum += int(v)
				n++
			}
			sums[row+column] += sum
			counts[row+column] += n
			all += n
		}
	}
	out := measured{patch: findPatch(m)}
	burnt, above := 0, 0
	for v := 255; v >= 0; v-- {
		if v >= whiteFrom {
			burnt += shades[v]
		}
		if above += shades[v]; out.top == 0 && above*20 >= all {
			out.top = v
		}
	}
	out.white = float64(burnt) / float64(all)
	for i, n := range counts {
		if n > 0 {
			out.small[i] = uint8(sums[i] / n)
		}
	}
	return out
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

// see takes a frame and what came of reading it, and gives the advice.
func (a *adviser) see(m *image.Gray, read error) Advice {
	seen := measure(m)
	now := ReadIt
	if read != nil {
		moving := a.any && motion(&seen.small, &a.last.small) > moved
		now = seen.advice(moving, errors.Is(read, scan.DamagedSymbol))
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
// then size, then rest, then the angle. found tells whether the reader found a
// symbol.
func (m measured) advice(moving, found bool) Advice {
	p := m.patch
	symbol := p.cells > 0 || found
	far := p.cells > 0 && (p.pixels < fewPixels || float64(p.cells*cellSide*cellSide) < (fewPixels*tagSide)*(fewPixels*tagSide))
	switch {
	case m.top < darkTop:
		return TooDark
	case m.white > whiteShare || symbol && m.white > whiteShare/2:
		return TooBright
	case far:
		return Closer
	case moving || p.cells > 0 && p.steep < unsharp:
		return HoldStill
	case p.cells > 0 && p.lean < slanted:
		return TurnIt
	case found:
		return HoldStill
	}
	return Looking
}
