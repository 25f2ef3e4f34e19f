package scan

import (
	"context"
	"image"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	qrencode "github.com/skip2/go-qrcode"
)

// worn draws a tag of random text as a camera sees it after years on a chain: scratched
// and greased, faded in a patch, bent both ways, seen aslant, with glare, out of focus
// and in poor light. wear is 1 for little to 5 for much.
func worn(t testing.TB, random *rand.Rand, wear float64) (*image.Gray, string) {
	t.Helper()
	const alphabet, width, height, half = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567", 480, 400, 22.5
	text := make([]byte, 64)
	for i := range text {
		text[i] = alphabet[random.IntN(len(alphabet))]
	}
	q, err := qrencode.NewWithForcedVersion(string(text), 5, qrencode.Highest)
	if err != nil {
		t.Fatal(err)
	}
	modules := q.Bitmap() // 45 of them, with the margin
	between := func(low, high float64) float64 { return low + (high-low)*random.Float64() }

	type stroke struct{ x, y, sin, cos, length, width, light float64 }
	type spot struct{ x, y, radius, light float64 }
	var strokes []stroke
	var spots []spot
	for range int(3 * wear) {
		sin, cos := math.Sincos(between(0, math.Pi))
		strokes = append(strokes, stroke{between(-20, 20), between(-20, 20), sin, cos, between(3, 12), between(0.1, 0.15+0.06*wear), between(0, 1)})
	}
	for range int(wear) {
		spots = append(spots, spot{between(-20, 20), between(-20, 20), between(0.7, 0.8+0.35*wear), between(0, 0.6)})
	}
	faded := spot{between(-15, 15), between(-15, 15), between(6, 14), 0.14 * wear}
	bendX, bendY := between(-0.25, 0.25)*wear, between(-0.25, 0.25)*wear

	sin, cos := math.Sincos(between(0, 2*math.Pi))
	side := between(105, 125)
	var to [4]point
	for i, c := range [4]point{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		lean := func() float64 { return between(-0.06, 0.06) * wear * side }
		to[i] = point{width/2 + (c.x*cos-c.y*sin)*side + lean(), height/2 + (c.x*sin+c.y*cos)*side + lean()}
	}
	grid := through([4]point{{-half, -half}, {half, -half}, {half, half}, {-half, half}}, to).inverse()
	glare := spot{between(-15, 15), between(-15, 15), between(2, 2+wear), 0.3 * wear}
	gain, noise, blur := between(1-0.12*wear, 1), 2+1.5*wear, int(wear+1)/3

	sharp := make([]float64, width*height)
	for y := range height {
		for x := range width {
			sum := 0.0
			for _, d := range [...]point{{0.25, 0.25}, {0.75, 0.25}, {0.25, 0.75}, {0.75, 0.75}} {
				p := grid.at(point{float64(x) + d.x, float64(y) + d.y})
				u, v := p.x/half, p.y/half
				p.x += bendX * (1 - v*v) * 4 / 3
				p.y += bendY * (1 - u*u) * 4 / 3
				c, r := int(math.Floor(p.x+half)), int(math.Floor(p.y+half))
				if c < 0 || r < 0 || c >= len(modules) || r >= len(modules) {
					sum += 0.35
					continue
				}
				light := 0.95
				if modules[r][c] {
					light = 0.05
				}
				for _, s := range strokes {
					dx, dy := p.x-s.x, p.y-s.y
					if math.Abs(dx*s.sin-dy*s.cos) < s.width && math.Abs(dx*s.cos+dy*s.sin) < s.length {
						light = s.light
					}
				}
				for _, s := range spots {
					if math.Hypot(p.x-s.x, p.y-s.y) < s.radius {
						light = s.light
					}
				}
				light += faded.light * (0.65 - light) * math.Exp(-math.Pow(math.Hypot(p.x-faded.x, p.y-faded.y)/faded.radius, 4))
				sum += light + glare.light*math.Exp(-math.Pow(math.Hypot(p.x-glare.x, p.y-glare.y)/glare.radius, 2))
			}
			sharp[y*width+x] = sum / 4
		}
	}
	m := image.NewGray(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			sum := 0.0
			for j := -blur; j <= blur; j++ {
				for i := -blur; i <= blur; i++ {
					sum += sharp[min(max(y+j, 0), height-1)*width+min(max(x+i, 0), width-1)]
				}
			}
			v := 255*gain*sum/float64((2*blur+1)*(2*blur+1)) + noise*random.NormFloat64()
			m.Pix[y*width+x] = uint8(min(max(v, 0), 255))
		}
	}
	return m, string(text)
}

// TestWhatEachStepBrings reads worn tags with every step, and with each left out in
// turn. The scenes are drawn from a seed that nothing was set by.
func TestWhatEachStepBrings(t *testing.T) {
	seed := *seedFlag
	if seed == 0 {
		seed = 20260401
	}
	scenes := 4 * *rounds // of each wear
	type scene struct {
		m    plane
		text string
	}
	var all [5][]scene
	random := rand.New(rand.NewPCG(seed, 3))
	for wear := range all {
		for range scenes {
			m, text := worn(t, random, float64(wear+1))
			all[wear] = append(all[wear], scene{brightness(m), text})
		}
	}
	read := func(without steps) (sum int) {
		var each [5]int
		for wear, scenes := range all {
			for _, s := range scenes {
				seen, _, err := find(context.Background(), s.m, fullEffort, without)
				if err == nil && seen.text != s.text {
					t.Errorf("wear %d: read %q, it says %q", wear+1, seen.text, s.text)
				}
				if err == nil {
					each[wear]++
					sum++
				}
			}
		}
		t.Logf("%3d of %d; by wear %v of %d", sum, len(all)*scenes, each, scenes)
		return sum
	}
	t.Log("every step:")
	best := read(0)
	if best < len(all)*scenes*9/10 {
		t.Errorf("only %d of %d are read", best, len(all)*scenes)
	}
	for _, left := range []struct {
		name string
		out  steps
	}{
		{"the fourth place a parallelogram's", noFourth},
		{"one version only", noVersions},
		{"no climb of the four places", noRefine},
		{"no search of a missing finder", noMissing},
		{"no closer look, nothing grown", noClose},
		{"one size only", noSizes},
		{"modules not equalized", noEqual},
		{"no words taken as lost", noErasures},
		{"not led along dark and light", noFollow},
		{"neither climbed nor led", noRefine | noFollow},
	} {
		t.Logf("%s:", left.name)
		if got := read(left.out); got > best+1 {
			t.Errorf("without it %d are read, with it %d", got, best)
		}
	}
}

// TestFramesLeaveNothing: however many frames are looked at, no memory is kept, and
// what one takes is not thrown away with it.
func TestFramesLeaveNothing(t *testing.T) {
	m, _ := worn(t, rand.New(rand.NewPCG(1, 2)), 2)
	look := func(n int) uint64 {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		for i := range n {
			if _, err := Glance(m, i); err != nil {
				t.Fatal(err)
			}
		}
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	look(1)
	const frames = 40
	if each := look(frames) / frames; each > uint64(len(m.Pix))/2 {
		t.Errorf("a frame of %d pixels takes %d bytes anew", len(m.Pix), each)
	}
}

// BenchmarkGlance looks at a frame of each kind that a camera sees most.
func BenchmarkGlance(b *testing.B) {
	random := rand.New(rand.NewPCG(3, 4))
	clean, _ := worn(b, random, 1)
	poor, _ := worn(b, random, 4)
	none := image.NewGray(clean.Rect)
	for i := range none.Pix {
		none.Pix[i] = uint8(90 + 12*random.NormFloat64())
	}
	for name, m := range map[string]*image.Gray{"clean": clean, "poor": poor, "none": none} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				if _, err := Glance(m, i); (err == nil) != (m != none) && m != poor {
					b.Fatal(err)
				}
			}
		})
	}
}
