package grade_test

import (
	"bytes"
	"image"
	"image/png"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"cribgate/kiosk/scan"
	"cribgate/labeler/grade"
	"cribgate/labeler/symbol"
)

const (
	bare     = "CDEFGHIJKLMNOPQRSTUVWXYZ234567ABCDEFGHIJKLMNOPQRSTUVWXYZ234567AB"
	prefixed = "HTTPS://H.EXAMPLE/" + bare
)

func encode(t testing.TB, text string) symbol.Symbol {
	t.Helper()
	s, err := symbol.Encode(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const (
	around = 6 // modules of blank around the symbol
	wide   = symbol.Modules + 2*around
)

// A scene is a print as it lies there: how much light each module gives back, with
// the blank around, and by how much of a module dark ones have grown to every side.
type scene struct {
	light [wide][wide]float64
	grown float64
	wave  float64 // how far rows are moved to and fro, in modules, twice over the symbol
}

// sceneOf is the perfect print of a symbol.
func sceneOf(s symbol.Symbol) *scene {
	out := new(scene)
	for row := range wide {
		for column := range wide {
			if !s.Dark(column-around, row-around) {
				out.light[row][column] = 1
			}
		}
	}
	return out
}

// set gives a module, counted from the symbol's corner, its light.
func (s *scene) set(column, row int, light float64) { s.light[row+around][column+around] = light }

// flip makes a dark module light and a light one dark.
func (s *scene) flip(column, row int) {
	s.light[row+around][column+around] = 1 - s.light[row+around][column+around]
}

// at is the light at a place on the symbol.
func (s *scene) at(x, y float64) float64 {
	here := func(x, y float64) float64 {
		column, row := int(math.Floor(x))+around, int(math.Floor(y))+around
		if column < 0 || row < 0 || column >= wide || row >= wide {
			return 1
		}
		return s.light[row][column]
	}
	x += s.wave * math.Sin(4*math.Pi*y/symbol.Modules)
	if s.grown == 0 {
		return here(x, y)
	}
	g := math.Abs(s.grown)
	least, most := 1.0, 0.0
	for _, dy := range [3]float64{-g, 0, g} {
		for _, dx := range [3]float64{-g, 0, g} {
			v := here(x+dx, y+dy)
			least, most = min(least, v), max(most, v)
		}
	}
	if s.grown > 0 {
		return least
	}
	return most
}

// A camera takes a picture of a scene. The zero camera is filled in by shoot: six
// pixels a module, straight, sharp, black and white.
type camera struct {
	pixels   float64 // to a module
	stretch  float64 // of the print along x
	turn     float64 // degrees, clockwise
	keystone float64 // how much shorter the right side is than the left, over their mean
	mirror   bool
	blur     float64 // standard deviation, in modules
	noise    float64 // standard deviation, of 255
	seed     uint64
	dark     float64 // light that full dark gives back
	bright   float64 // light that full light gives back
	shade    float64 // how much less light falls on the right edge
	invert   bool
	cut      float64 // modules cut off at the left
	glare    func(x, y float64) bool
	gamma    float64 // the file's brightness is raised to it
}

// shoot takes the picture, as a PNG.
func (c camera) shoot(t testing.TB, s *scene) []byte {
	t.Helper()
	if c.pixels == 0 {
		c.pixels = 6
	}
	if c.bright == 0 {
		c.bright = 1
	}
	if c.gamma == 0 {
		c.gamma = 1
	}
	const half = symbol.Modules / 2.
	reach := (half + 5.5) * c.pixels * (1 + max(c.stretch, 0) + c.keystone)
	sin, cos := math.Sincos(c.turn * math.Pi / 180)
	size := int(2 * reach * (math.Abs(sin) + math.Abs(cos)))
	mid := float64(size) / 2
	ray := func(px, py float64) float64 {
		px, py = px-mid, py-mid
		px, py = (px*cos+py*sin)/c.pixels, (-px*sin+py*cos)/c.pixels
		// Seen from the side: x' = x / (1 − k·x), y' = y / (1 − k·x).
		w := 1 - c.keystone/symbol.Modules*px
		x, y := px/w/(1+c.stretch), py/w
		if c.mirror {
			x = -x
		}
		if c.glare != nil && c.glare(x+half, y+half) {
			return 1
		}
		return (c.dark + (c.bright-c.dark)*s.at(x+half, y+half)) * (1 - c.shade*(px/(2*half)+0.5))
	}
	// A pixel takes the mean over its area; where its corners agree, no edge
	// goes through it.
	const fine = 4
	pixel := func(i, j int) float64 {
		at := func(a, b int) float64 {
			return ray(float64(i)+(float64(a)+0.5)/fine, float64(j)+(float64(b)+0.5)/fine)
		}
		corners := [4]float64{at(0, 0), at(fine-1, 0), at(0, fine-1), at(fine-1, fine-1)}
		sum := 0.0
		if least, most := slices.Min(corners[:]), slices.Max(corners[:]); most-least < 0.01 {
			return (least + most) / 2
		}
		for b := range fine {
			for a := range fine {
				sum += at(a, b)
			}
		}
		return sum / fine / fine
	}
	light := make([]float64, size*size)
	for j := range size {
		for i := range size {
			light[j*size+i] = min(max(pixel(i, j), 0), 1)
		}
	}
	if c.blur > 0 {
		light = blurred(light, size, c.blur*c.pixels)
	}
	random := rand.New(rand.NewPCG(c.seed, 0))
	left := int(c.cut * c.pixels)
	m := image.NewGray(image.Rect(0, 0, size-left, size))
	for j := range size {
		for i := left; i < size; i++ {
			v := light[j*size+i]
			if c.invert {
				v = 1 - v
			}
			v = 255*math.Pow(brightness(v), c.gamma) + c.noise*random.NormFloat64()
			m.Pix[j*m.Stride+i-left] = byte(min(max(v+0.5, 0), 255))
		}
	}
	var out bytes.Buffer
	if err := png.Encode(&out, m); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// brightness is what a file has for an amount of light (sRGB, IEC 61966-2-1, from
// memory, not seen).
func brightness(v float64) float64 {
	if v <= 0.0031308 {
		return 12.92 * v
	}
	return 1.055*math.Pow(v, 1/2.4) - 0.055
}

// blurred spreads each pixel's light as a lens out of focus does.
func blurred(light []float64, size int, sigma float64) []float64 {
	reach := int(3*sigma) + 1
	weights := make([]float64, 2*reach+1)
	sum := 0.0
	for i := range weights {
		d := float64(i - reach)
		weights[i] = math.Exp(-d * d / (2 * sigma * sigma))
		sum += weights[i]
	}
	pass := func(in []float64, step func(i, d int) int) []float64 {
		out := make([]float64, len(in))
		for i := range in {
			for k, w := range weights {
				out[i] += in[step(i, k-reach)] * w / sum
			}
		}
		return out
	}
	light = pass(light, func(i, d int) int { return i/size*size + min(max(i%size+d, 0), size-1) })
	return pass(light, func(i, d int) int { return min(max(i/size+d, 0), size-1)*size + i%size })
}

// judge takes the picture, reads it and grades it.
func (c camera) judge(t testing.TB, s *scene, want symbol.Symbol) grade.Report {
	t.Helper()
	v, err := scan.Locate(c.shoot(t, s))
	if err != nil {
		t.Fatalf("the picture does not read: %v", err)
	}
	return grade.Print(v, want)
}

// line wants a parameter to be there.
func line(t testing.TB, r grade.Report, p grade.Parameter) grade.Line {
	t.Helper()
	l, ok := r.Line(p)
	if !ok {
		t.Fatalf("no line for %s: faults %v", p, r.Faults)
	}
	return l
}

// say writes a report into the log.
func say(t testing.TB, r grade.Report) {
	t.Helper()
	for _, f := range r.Faults {
		t.Logf("fault: %s", f.Sentence())
	}
	for _, l := range r.Lines {
		t.Logf("%-26s %s %s%s", l.Parameter, l.Grade, l.Measured, l.Missing)
	}
	for _, a := range r.Advice {
		t.Logf("advice: %s", a.Sentence())
	}
}
