package scan

import (
	"math"
	"math/rand/v2"
	"testing"

	qrencode "github.com/skip2/go-qrcode"
	"pgregory.net/rapid"
)

// TestSheetLiesThroughItsKnots: at a knot, and turned over as a mirror turns it.
func TestSheetLiesThroughItsKnots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := sheetOf(rapid.IntRange(21, 177).Draw(t, "modules"))
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "knots"), 0))
		for i := range s.x {
			s.x[i], s.y[i] = random.Float64(), random.Float64()
		}
		column, row := rapid.IntRange(0, knots-1).Draw(t, "column"), rapid.IntRange(0, knots-1).Draw(t, "row")
		x, y := float64(column)*s.apart, float64(row)*s.apart
		p := s.at(point{x, y})
		if dx, dy := p.x-x-s.x[row*knots+column], p.y-y-s.y[row*knots+column]; math.Hypot(dx, dy) > 1e-9 {
			t.Fatalf("%v, %v off its knot", dx, dy)
		}
		between := point{random.Float64() * 10 * s.apart, random.Float64() * 10 * s.apart}
		p, o := s.at(between), s.turnedOver()
		if q := o.at(point{between.y, between.x}); math.Hypot(p.x-q.y, p.y-q.x) > 1e-9 {
			t.Fatalf("%v is taken to %v, and turned over to %v", between, p, q)
		}
	})
}

// TestTensionIsSolved holds the banded way against the full one.
func TestTensionIsSolved(t *testing.T) {
	const n, width = knots * knots, knots*knots + 1
	rapid.Check(t, func(t *rapid.T) {
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "places"), 0))
		s, known := sheetOf(37), stiff
		for range rapid.IntRange(8, 300).Draw(t, "edges") {
			first, w := s.around(37*random.Float64(), 37*random.Float64())
			known.add(first, &w, random.NormFloat64(), random.Float64())
		}
		full := make([]float64, n*width)
		for i := range n {
			for j := range min(band, n-i) {
				full[i*width+i+j], full[(i+j)*width+i] = known.sums[i][j], known.sums[i][j]
			}
			full[i*width+n] = known.want[i]
		}
		var got [n]float64
		if !known.solve(&got) || !eliminate(full, n) {
			t.Fatal("eight places and more do not say how the sheet lies")
		}
		for i, v := range got {
			if want := full[i*width+n]; math.Abs(v-want) > 1e-4*(1+math.Abs(want)) {
				t.Fatalf("knot %d lies %v off, want %v", i, v, want)
			}
		}
	})
}

// TestEliminate: what comes out solves the equations that went in.
func TestEliminate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "unknowns")
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "numbers"), 0))
		m := make([]float64, n*(n+1))
		for i := range m {
			m[i] = random.NormFloat64()
		}
		before := append([]float64(nil), m...)
		if !eliminate(m, n) {
			t.Fatal("no answer")
		}
		for i := range n {
			sum := 0.0
			for j := range n {
				sum += before[i*(n+1)+j] * m[j*(n+1)+n]
			}
			if want := before[i*(n+1)+n]; math.Abs(sum-want) > 1e-6 {
				t.Fatalf("equation %d comes to %v, want %v", i, sum, want)
			}
		}
	})
	if eliminate([]float64{1, 2, 3, 2, 4, 6}, 2) {
		t.Error("two equations that say the same have an answer")
	}
}

// TestFollowsABentPlate draws symbols on plates that are bowed by up to two and a half
// modules and lays a lattice through their finders: before, it is off by modules, and
// afterwards everywhere by less than what tells two modules apart.
func TestFollowsABentPlate(t *testing.T) {
	seed := *seedFlag
	if seed == 0 {
		seed = rand.Uint64()
	}
	t.Logf("again: go test ./kiosk/scan -run TestFollowsABentPlate -seed %d -rounds %d", seed, *rounds)
	random := rand.New(rand.NewPCG(seed, 5))
	for range 12 * *rounds {
		const size, n, quiet = 4, 37, 8
		text := make([]byte, 64)
		for i := range text {
			text[i] = 'A' + byte(random.IntN(26))
		}
		q, err := qrencode.NewWithForcedVersion(string(text), 5, qrencode.Highest)
		if err != nil {
			t.Fatal(err)
		}
		modules := q.Bitmap() // with four light ones around
		bowX, bowY, twist := 5*random.Float64()-2.5, 5*random.Float64()-2.5, 2*random.Float64()-1
		// A place on the symbol lies that far off: nothing at its middle, a bow to either side.
		at := func(x, y float64) point {
			u, v := x/(n/2.)-1, y/(n/2.)-1
			return point{(x + bowX*u*u + twist*u*v + quiet) * size, (y + bowY*v*v + quiet) * size}
		}
		p := plane{width: (n + 2*quiet) * size, height: (n + 2*quiet) * size}
		p.pix = make([]byte, p.width*p.height)
		for py := range p.height {
			for px := range p.width {
				x, y := float64(px)/size-quiet, float64(py)/size-quiet
				for range 15 { // towards the place that lies here
					is := at(x, y)
					x, y = x-(is.x-float64(px))/size/1.5, y-(is.y-float64(py))/size/1.5
				}
				p.pix[py*p.width+px] = 220
				if c, r := int(math.Floor(x))+4, int(math.Floor(y))+4; c >= 0 && r >= 0 && c < len(modules) && r < len(modules) && modules[r][c] {
					p.pix[py*p.width+px] = 30
				}
			}
		}
		var s search
		s.reset(p, fullEffort)
		pattern := s.pattern(5)
		var found [3]mark
		for i, c := range [...]point{{3.5, 3.5}, {n - 3.5, 3.5}, {3.5, n - 3.5}} {
			left, right, up, down := at(c.x-3, c.y), at(c.x+3, c.y), at(c.x, c.y-3), at(c.x, c.y+3)
			found[i] = mark{middle: at(c.x, c.y), across: point{(right.x - left.x) / 6, (right.y - left.y) / 6}, down: point{(down.x - up.x) / 6, (down.y - up.y) / 6}}
		}
		three := trio{topLeft: found[0], topRight: found[1], bottomLeft: found[2], span: 30}
		l := lattice{on: s.raised(0), sign: 1, anchors: three.anchors(pattern)}
		l.begin(three, pattern, false)
		farthest := func() (far float64) {
			for y := range n {
				for x := range n {
					is, want := l.place(float64(x)+0.5, float64(y)+0.5), at(float64(x)+0.5, float64(y)+0.5)
					far = max(far, math.Hypot(is.x-want.x, is.y-want.y)/size)
				}
			}
			return far
		}
		before := farthest()
		if _, ok := s.following.follow(&l, followLeast); !ok {
			t.Fatal("there is nothing to follow")
		}
		if after := farthest(); after > 0.45 {
			t.Errorf("bowed by %.1f and %.1f, twisted by %.1f modules: %.2f modules off before and %.2f afterwards", bowX, bowY, twist, before, after)
		}
	}
}

// TestEqualizeUndoesAMix: of what moved while it was seen, in any direction, so that modules
// are taken for the other kind, two in three are told apart again; what is clear stays so.
func TestEqualizeUndoesAMix(t *testing.T) {
	p, err := patternOf(5)
	if err != nil {
		t.Fatal(err)
	}
	mixed := 0
	for _, step := range [...][2]int{{0, 0}, {1, 0}, {0, 1}, {1, 1}, {1, -1}} {
		random := rand.New(rand.NewPCG(7, 7))
		n := p.modules
		is := make([]float64, n*n)
		for i := range is {
			is[i] = float64(200*random.IntN(2) - 100)
		}
		for _, some := range [...][]fixed{p.finders, p.timing, p.alignment} {
			for _, f := range some {
				is[int(f.y)*n+int(f.x)] = float64(100 * f.light)
			}
		}
		s := sampled{modules: n, soft: make([]soft, n*n)}
		before, after := 0, 0
		for y := range n {
			for x := range n {
				v := 0.0
				for k := -1; k <= 1; k++ {
					u, w := x+k*step[0], y+k*step[1]
					if u >= 0 && w >= 0 && u < n && w < n {
						v += is[w*n+u] * [...]float64{0.05, 0.55, 0.4}[k+1]
					}
				}
				s.soft[y*n+x] = soft(v + 8*random.NormFloat64())
				if (s.soft[y*n+x] < 0) != (is[y*n+x] < 0) {
					before++
				}
			}
		}
		s.equalize(p)
		for i, v := range s.soft {
			if (v < 0) != (is[i] < 0) {
				after++
			}
		}
		if mixed += before; after*3 > before {
			t.Errorf("moved by %v: %d modules wrong before and %d afterwards", step, before, after)
		}
	}
	if mixed < 100 {
		t.Errorf("only %d modules were mixed up", mixed)
	}
}
