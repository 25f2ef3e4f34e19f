package worn

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"math/rand/v2"

	"cribgate/core/tagcode"
	"cribgate/printtemplates"
)

// A Scene is one frame and what stands in it. The zero Scene shows nothing.
type Scene struct {
	Kind     Kind
	Severity int      // 1 to 5
	Number   int      // of those alike
	Texts    []string // of every symbol in view, the one that is shown first; none where there is none
	JPEG     []byte
	// Possible tells whether error correction could mend what a plain look makes of
	// the first symbol at its true place.
	Possible bool
	Missed   float64 // share of its modules that this look takes for the other colour
}

// A Maker makes scenes. It may be shared.
type Maker struct {
	seed    uint64
	key     tagcode.Key
	stocks  []printtemplates.Stock
	presses [Shown]press
}

// NewMaker returns the Maker of a seed.
func NewMaker(seed uint64) (*Maker, error) {
	m := &Maker{seed: seed}
	var err error
	if m.key, err = tagcode.NewKey(zeros{}); err != nil {
		return nil, fmt.Errorf("worn: make a key: %w", err)
	}
	if m.stocks, err = printtemplates.OfKind(printtemplates.Tag); err != nil {
		return nil, fmt.Errorf("worn: %w", err)
	}
	return m, nil
}

// A part of a scene has a stream of chance of its own.
type part uint64

const (
	ofKind part = iota
	ofLabel
	ofPose
	ofGround
	ofSurface
	ofBend
	ofView
	ofSensor
	ofOther
)

// chance hangs on no severity: the same tag in the same pose gets worse.
func (m *Maker) chance(k Kind, number int, p part) *rand.Rand {
	return rand.New(rand.NewPCG(m.seed, uint64(k)<<48|uint64(number)<<8|uint64(p)))
}

// Make makes a scene. A severity that is not from 1 to 5, or a Kind that does not
// exist, is an error.
func (m *Maker) Make(k Kind, severity, number int) (Scene, error) {
	if k >= kinds || severity < 1 || severity > Severities {
		return Scene{}, fmt.Errorf("worn: make a scene: there is no %s of severity %d", k, severity)
	}
	h := harmOf(k, severity, m.chance(k, number, ofKind))
	s, err := m.make(k, severity, number, h)
	if err != nil {
		return Scene{}, fmt.Errorf("worn: make scene %d of %s, severity %d: %w", number, k, severity, err)
	}
	return s, nil
}

// make makes the scene with that harm done.
func (m *Maker) make(k Kind, severity, number int, h harm) (Scene, error) {
	s := Scene{Kind: k, Severity: severity, Number: number}
	chance := func(p part) *rand.Rand { return m.chance(k, number, p) }
	frame := ground(chance(ofGround))
	if h.of[Print] > 0 || k == None && number%2 == 0 {
		printed(frame, chance(ofOther), max(h.of[Print], 0.5))
	}
	view := chance(ofView)
	at := m.pose(chance(ofPose), h)
	at.bend = newBend(chance(ofBend), h.of[Bent])
	var swing shake
	if k != None {
		l, err := m.label(chance(ofLabel))
		if err != nil {
			return Scene{}, err
		}
		if h.of[Second] > 0 {
			other, err := m.beside(frame, chance(ofOther), at, h)
			if err != nil {
				return Scene{}, err
			}
			s.Texts = append(s.Texts, other)
		}
		l.wear(chance(ofSurface), h)
		swing = newShake(view, h.of[Shutter])
		show(frame, l, &at, swing)
		s.Texts = append([]string{l.text}, s.Texts...)
	}
	if h.of[Thumb] > 0 || k == None && number%3 == 0 {
		thumb(frame, view, &at, max(h.of[Thumb], 0.3))
	}
	if h.of[Wet] > 0 {
		glare(frame, view, &at, h.of[Wet])
	}
	light(frame, view, h.tilt)
	frame.blur(0.45 + 0.75*h.focus*between(view, 0.6, 1.1))
	smear(frame, view, 17*h.of[Motion]*between(view, 0.75, 1.1))
	picture, err := m.photograph(frame, chance(ofSensor), h)
	if err != nil {
		return Scene{}, err
	}
	s.JPEG = picture
	if k != None {
		seen, err := s.Brightness()
		if err != nil {
			return Scene{}, err
		}
		s.Possible, s.Missed, err = possible(seen, s.Texts[0], &at, swing)
		if err != nil {
			return Scene{}, err
		}
	}
	return s, nil
}

// wear does to the tag's face what is to be done to it.
func (l *label) wear(r *rand.Rand, h harm) {
	l.scuff(r, h.scuff)
	for _, w := range []struct {
		kind Kind
		do   func(*rand.Rand, float64)
	}{{Rust, l.rust}, {Paint, l.paint}, {Wet, l.wet}, {Torn, l.tear}} {
		if a := h.of[w.kind]; a > 0 {
			w.do(r, a)
		}
	}
	if h.of[Quarter] > 0 {
		l.hide(r, 0.25)
	}
}

// pose holds the tag somewhere in the middle of the frame, any way round.
func (m *Maker) pose(r *rand.Rand, h harm) pose {
	size := between(r, 7.2, 9.6) - 3.6*h.far
	tilt := (0.12 + 0.5*h.tilt) * r.Float64()
	way := between(r, 0, 2*math.Pi)
	reach := 1.6 * half * size // of the symbol's middle from the edge: its corners stay in the frame
	return newPose(between(r, 0, 2*math.Pi), tilt*math.Cos(way), tilt*math.Sin(way), size,
		between(r, reach, Width-reach), between(r, reach, Height-reach))
}

// beside lays another tag next to the one that is shown, or partly under it, and
// gives its text.
func (m *Maker) beside(frame *plane, r *rand.Rand, at pose, h harm) (string, error) {
	other, err := m.label(r)
	if err != nil {
		return "", err
	}
	other.scuff(r, h.scuff)
	x, y := at.frame(0, 0)
	size := focal / at.at[2]
	away := size * half * between(r, 2.6-1.1*h.of[Second], 3)
	a := between(r, -0.5, 0.5)
	if x > Width/2 {
		a += math.Pi
	}
	p := newPose(between(r, 0, 2*math.Pi), 0, 0.1, size*between(r, 0.75, 1), x+away*math.Cos(a), y+away*math.Sin(a))
	show(frame, other, &p, shake{})
	return other.text, nil
}

// show draws a plate into the frame where it is seen, each pixel from two places.
func show(frame *plane, l *label, at *pose, s shake) {
	for iy := range frame.h {
		dx, dy := s.row(float64(iy))
		for ix := range frame.w {
			var sum, covered float32
			for i := range 2 {
				px, py := float64(ix)+0.25+0.5*float64(i)+dx, float64(iy)+0.25+0.5*float64(i)+dy
				u, v, lit, ok := at.plate(px, py)
				if !ok {
					continue
				}
				x, y := l.place(u, v)
				if x < 0 || y < 0 || x > float64(l.face.w) || y > float64(l.face.h) {
					if i == 0 && (x < -3*l.dots || y < -3*l.dots || x > float64(l.face.w)+3*l.dots || y > float64(l.face.h)+3*l.dots) {
						break // far outside
					}
					continue
				}
				c := l.cover.at(x, y)
				sum += c * l.face.at(x, y) * float32(lit)
				covered += c
			}
			if covered > 0 {
				q := &frame.pix[iy*frame.w+ix]
				*q = *q*(1-covered/2) + sum/2
			}
		}
	}
}

// light falls unevenly: more from one side, and a shadow's soft edge.
func light(p *plane, r *rand.Rand, amount float64) {
	sin, cos := math.Sincos(between(r, 0, 2*math.Pi))
	slope, shadow, edge := 0.5*amount*r.Float64(), 0.55*amount*r.Float64(), between(r, -300, 300)
	for y := range p.h {
		for x := range p.w {
			d := (float64(x)-Width/2)*cos + (float64(y)-Height/2)*sin
			p.pix[y*p.w+x] *= float32((1 + slope*d/640) * (1 - shadow/(1+math.Exp((d-edge)/25))))
		}
	}
}

// photograph makes the file.
func (m *Maker) photograph(p *plane, r *rand.Rand, h harm) ([]byte, error) {
	dark := h.of[Dark]
	// From a well-lit counter to a yard at dusk: each step takes the same share.
	s := sensor{
		electrons: 2500 * math.Pow(0.0022, dark) / (1 + h.focus),
		bright:    between(r, 0.75, 1.05) * (1 - 0.72*dark),
		bands:     0.09 * dark * dark,
		quality:   int(90 - 22*h.focus - 30*dark),
	}
	return s.file(s.expose(p, r), r)
}

// Brightness decodes a scene's frame, as a camera's page sends it.
func (s Scene) Brightness() (*image.Gray, error) {
	m, err := jpeg.Decode(bytes.NewReader(s.JPEG))
	if err != nil {
		return nil, fmt.Errorf("worn: decode a frame: %w", err)
	}
	c, ok := m.(*image.YCbCr)
	if !ok {
		return nil, fmt.Errorf("worn: decode a frame: it came out as %T", m)
	}
	return &image.Gray{Pix: c.Y, Stride: c.YStride, Rect: c.Rect}, nil
}
