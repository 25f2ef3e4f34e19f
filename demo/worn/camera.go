package worn

import (
	"bytes"
	"image"
	"image/jpeg"
	"math"
	"math/rand/v2"
)

// A shake is how a frame's rows see the tag moved: a rolling shutter reads them one
// after the other while the tag swings.
type shake struct {
	swing, period, phase float64 // pixels aside, rows to a swing
	shear, stretch       float64 // pixels a row
}

func newShake(r *rand.Rand, amount float64) shake {
	sign := func() float64 { return float64(2*r.IntN(2) - 1) }
	return shake{
		swing:   between(r, 0.6, 1) * 30 * amount * amount,
		period:  between(r, 260, 460),
		phase:   between(r, 0, 2*math.Pi),
		shear:   sign() * between(r, 0.3, 1) * 0.4 * amount,
		stretch: sign() * between(r, 0.3, 1) * 0.22 * amount,
	}
}

// row is where the tag is seen from in a row of the frame.
func (s shake) row(y float64) (dx, dy float64) {
	if s == (shake{}) {
		return 0, 0
	}
	return s.swing*math.Sin(2*math.Pi*y/s.period+s.phase) + s.shear*(y-Height/2), s.stretch * (y - Height/2)
}

// smear moves the frame along a curved way while the shutter is open.
func smear(p *plane, r *rand.Rand, length float64) {
	if length < 1 {
		return
	}
	steps := int(2*length) + 2
	a, turn := between(r, 0, 2*math.Pi), between(r, -1.2, 1.2)
	out := newPlane(p.w, p.h)
	x, y := -length/2*math.Cos(a), -length/2*math.Sin(a)
	share := 1 / float32(steps)
	for i := range steps {
		dx, dy := int(math.Round(x)), int(math.Round(y))
		for row := range p.h {
			from := p.pix[min(max(row+dy, 0), p.h-1)*p.w:][:p.w]
			to := out.pix[row*p.w:][:p.w]
			for col := range to {
				to[col] += share * from[min(max(col+dx, 0), p.w-1)]
			}
		}
		way := a + turn*(float64(i)/float64(steps)-0.5)
		x, y = x+length/float64(steps)*math.Cos(way), y+length/float64(steps)*math.Sin(way)
	}
	p.pix = out.pix
}

// A sensor is how light becomes numbers.
type sensor struct {
	electrons float64 // that a white sheet gives a pixel: fewer are noisier
	bright    float64 // of a white sheet in the picture, 0 to 1
	bands     float64 // noise that a row shares, in shares of a white sheet
	quality   int     // of the JPEG
}

// expose turns light into the brightness of a picture: noise of light and of the
// sensor, then the curve of sRGB (taken as a power of 1/2.2).
func (s sensor) expose(p *plane, r *rand.Rand) *image.Gray {
	curve := make([]byte, 1025)
	for i := range curve {
		curve[i] = byte(255*math.Pow(float64(i)/1024, 1/2.2) + 0.5)
	}
	const dark = 2.5 // electrons that the sensor adds by itself (common practice, no source)
	m := image.NewGray(image.Rect(0, 0, p.w, p.h))
	gain := s.bright * 1024
	for y := range p.h {
		band := s.bands * r.NormFloat64()
		for x := range p.w {
			v := max(float64(p.pix[y*p.w+x]), 0)
			v += math.Sqrt(v/s.electrons+dark*dark/(s.electrons*s.electrons))*r.NormFloat64() + band
			m.Pix[y*m.Stride+x] = curve[int(min(max(v*gain, 0), 1024))]
		}
	}
	return m
}

// file writes brightness as a camera's JPEG, in colours of which it shows hardly any.
func (s sensor) file(m *image.Gray, r *rand.Rand) ([]byte, error) {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	c := image.NewYCbCr(m.Rect, image.YCbCrSubsampleRatio420)
	for y := range h {
		copy(c.Y[y*c.YStride:][:w], m.Pix[y*m.Stride:][:w])
	}
	tint := clouds(r, c.CStride, h/2, 80, 80)
	for i, t := range tint.pix {
		c.Cb[i], c.Cr[i] = byte(124+6*t), byte(132+9*t)
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, c, &jpeg.Options{Quality: s.quality}); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
