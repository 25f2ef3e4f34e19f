package lift

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"cribgate/core/quantity"
)

var (
	rounds = flag.Int("rounds", 20_000, "random rigs to compare with the second implementation")
	seed   = flag.Uint64("seed", 0, "seed of the random rigs; 0 takes the clock")
)

// A second implementation by other formulas: hull by pairs of picks, circle and
// forces by Gaussian elimination, two legs by the angles to the plumb line. It
// says nearly for a decision that floating point may tip either way.
type second struct {
	fault   Fault
	nearly  bool
	tension float64
	flat    float64
	tilt    float64
	hook    float64
}

const nearlyBy = 1e-6

// below is a < b, remembering a close call.
func (s *second) below(a, b float64) bool {
	if math.Abs(a-b) <= nearlyBy*max(1, math.Abs(a), math.Abs(b)) {
		s.nearly = true
	}
	return a < b
}

func (s *second) ends(f Fault) *second { s.fault = f; return s }

func secondHang(r Rig) *second {
	s := &second{flat: 90, hook: math.Inf(-1)}
	if r.Adjustable && r.Hook == nil {
		return s.ends(NoHookHeight)
	}
	var p [][3]float64
	for _, q := range r.Picks {
		p = append(p, [3]float64{float64(q.X) / 1000, float64(q.Y) / 1000, float64(q.Z) / 1000})
	}
	g := [3]float64{float64(r.CG.X) / 1000, float64(r.CG.Y) / 1000, float64(r.CG.Z) / 1000}
	reach, height := float64(r.Reach)/1000, 0.0
	if r.Hook != nil {
		height = float64(*r.Hook) / 1000
	}
	if len(p) == 2 {
		return s.two(p, g, reach, height, r.Adjustable)
	}
	return s.more(p, g, reach, height, r.Adjustable)
}

func dist(a, b [3]float64) float64 {
	return math.Sqrt((a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1]) + (a[2]-b[2])*(a[2]-b[2]))
}

// corner is the angle at b of the triangle a b c, degrees, by the law of cosines.
func corner(a, b, c [3]float64) float64 {
	x, y, z := dist(a, b), dist(c, b), dist(a, c)
	return math.Acos(min(1, max(-1, (x*x+y*y-z*z)/(2*x*y)))) * 180 / math.Pi
}

func (s *second) two(p [][3]float64, g [3]float64, reach, height float64, adjustable bool) *second {
	a, b := p[0], p[1]
	span := dist(a, b)
	if span == 0 {
		return s.ends(WouldTip)
	}
	if a[0] == b[0] && a[1] == b[1] {
		return s.ends(WouldRoll)
	}
	// Height of the triangle a b g over a b, by Heron's area.
	foot := ((dist(a, g)*dist(a, g) - dist(b, g)*dist(b, g)) + span*span) / (2 * span) // along from a
	onLine := [3]float64{}
	for i := range onLine {
		onLine[i] = a[i] + (b[i]-a[i])*foot/span
	}
	c := dist(onLine, g)
	if s.below(c, 1) {
		return s.ends(WouldRoll)
	}
	if !s.below(g[2], onLine[2]) {
		return s.ends(WouldRoll)
	}
	// Plane coordinates: x along the line from a, y away from g; g is (foot, -c).
	x, y := 0.0, 0.0
	if adjustable {
		sin := (b[2] - a[2]) / span
		cos := math.Sqrt(1 - sin*sin)
		rise := sin*sin + cos*(onLine[2]-g[2])/c // drawn height per length along the set direction
		far := (height - g[2]) / rise
		x, y = foot+far*sin, far*cos-c
		if !s.below(0, y) {
			return s.ends(NoHookHeight)
		}
		for _, leg := range []float64{math.Hypot(x, y), math.Hypot(span-x, y)} {
			if s.below(reach, leg) {
				return s.ends(ReachTooShort)
			}
		}
	} else {
		if !s.below(span/2, reach) {
			return s.ends(ReachTooShort)
		}
		x, y = span/2, math.Sqrt(reach*reach-span*span/4)
	}
	var k [3]float64
	for i := range k {
		k[i] = a[i] + (b[i]-a[i])*x/span + (onLine[i]-g[i])*y/c
	}
	// Lami: T1/sin β2 = T2/sin β1 = W/sin(β1+β2), β on either side of the plumb line.
	plumb := math.Atan2(foot-x, c+y)
	b1, b2 := math.Atan2(x, y)+plumb, math.Atan2(span-x, y)-plumb
	t1, t2 := math.Sin(b2)/math.Sin(b1+b2), math.Sin(b1)/math.Sin(b1+b2)
	if s.below(t1, -1e-6) || s.below(t2, -1e-6) || math.Abs(math.Sin(b1+b2)) <= 1e-9 {
		return s.ends(WouldTip)
	}
	s.keep(p, g, k, max(t1, t2))
	return s.ends(Hangs)
}

func (s *second) keep(p [][3]float64, g, k [3]float64, tension float64) {
	for _, q := range p {
		s.flat = min(s.flat, 90-corner(q, k, g))
	}
	s.tension = max(s.tension, tension)
	s.tilt = max(s.tilt, corner(g, k, [3]float64{k[0], k[1], k[2] - 1000}))
	s.hook = max(s.hook, k[2])
}

// solve is Gaussian elimination with pivoting; det is the determinant.
func solve(m [3][4]float64) (x [3]float64, det float64) {
	det = 1
	for i := range 3 {
		best := i
		for j := i + 1; j < 3; j++ {
			if math.Abs(m[j][i]) > math.Abs(m[best][i]) {
				best = j
			}
		}
		if best != i {
			m[i], m[best] = m[best], m[i]
			det = -det
		}
		det *= m[i][i]
		for j := i + 1; j < 3; j++ {
			f := m[j][i] / m[i][i]
			for l := i; l < 4; l++ {
				m[j][l] -= f * m[i][l]
			}
		}
	}
	for i := 2; i >= 0; i-- {
		x[i] = m[i][3]
		for j := i + 1; j < 3; j++ {
			x[i] -= m[i][j] * x[j]
		}
		x[i] /= m[i][i]
	}
	return x, det
}

// well tells whether g is well inside the picks: a side of the hull is a pair
// with every pick on one hand of it or on it.
func (s *second) well(p [][3]float64, g [3]float64) bool {
	hand := func(a, b, c [3]float64) float64 { return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0]) }
	longest, nearest, area := 0.0, math.Inf(1), false
	for _, a := range p {
		for _, b := range p {
			length := math.Hypot(b[0]-a[0], b[1]-a[1])
			if length == 0 {
				continue
			}
			side := true
			for _, c := range p {
				side = side && hand(a, b, c) >= 0
				area = area || hand(a, b, c) > 0
			}
			if side {
				longest = max(longest, length)
				nearest = min(nearest, hand(a, b, g)/length)
			}
		}
	}
	return area && !s.below(nearest, 0.02*longest)
}

func (s *second) more(p [][3]float64, g [3]float64, reach, height float64, adjustable bool) *second {
	if !s.well(p, g) {
		return s.ends(WouldTip)
	}
	type choice struct {
		t     [][3]float64
		spare [][3]float64
		k     [3]float64
	}
	var list []choice
	for out := len(p) - 1; out >= 0; out-- {
		c := choice{}
		for i, q := range p {
			if i == out && len(p) == 4 {
				c.spare = append(c.spare, q)
			} else {
				c.t = append(c.t, q)
			}
		}
		x, y, z := dist(c.t[0], c.t[1]), dist(c.t[1], c.t[2]), dist(c.t[2], c.t[0])
		heron := math.Sqrt(max(0, (x+y+z)*(-x+y+z)*(x-y+z)*(x+y-z))) / 4
		if !s.below(heron, 1) || len(p) == 3 && adjustable {
			list = append(list, c)
		}
		if len(p) == 3 {
			break
		}
	}
	if len(list) == 0 {
		return s.ends(WouldTip)
	}
	if adjustable {
		for _, q := range p {
			if height <= q[2] {
				return s.ends(NoHookHeight)
			}
		}
		for i := range list {
			list[i].k = [3]float64{g[0], g[1], height}
		}
		for _, q := range p {
			if s.below(reach, dist(list[0].k, q)) {
				return s.ends(ReachTooShort)
			}
		}
	}
	for _, c := range list {
		a, b, d := c.t[0], c.t[1], c.t[2]
		if !adjustable && (b[0]-a[0])*(d[1]-a[1]) == (b[1]-a[1])*(d[0]-a[0]) {
			return s.ends(WouldTip) // upright
		}
	}
	for i := range list {
		c := &list[i]
		if adjustable {
			break
		}
		var m [3][4]float64
		a, b, d := c.t[0], c.t[1], c.t[2]
		normal := [3]float64{
			(b[1]-a[1])*(d[2]-a[2]) - (b[2]-a[2])*(d[1]-a[1]),
			(b[2]-a[2])*(d[0]-a[0]) - (b[0]-a[0])*(d[2]-a[2]),
			(b[0]-a[0])*(d[1]-a[1]) - (b[1]-a[1])*(d[0]-a[0]),
		}
		size := math.Sqrt(normal[0]*normal[0] + normal[1]*normal[1] + normal[2]*normal[2])
		for j := range 3 { // relative to a, so that the squares stay small
			m[0][j], m[1][j], m[2][j] = b[j]-a[j], d[j]-a[j], normal[j]/size
			m[0][3] += (b[j] - a[j]) * (b[j] - a[j]) / 2
			m[1][3] += (d[j] - a[j]) * (d[j] - a[j]) / 2
		}
		centre, _ := solve(m)
		radius := dist(centre, [3]float64{})
		if !s.below(radius, reach) {
			return s.ends(ReachTooShort)
		}
		if normal[2] < 0 {
			size = -size
		}
		for j := range 3 {
			c.k[j] = a[j] + centre[j] + normal[j]/size*math.Sqrt(reach*reach-radius*radius)
		}
	}
	for _, c := range list {
		if !adjustable && len(c.spare) > 0 && s.below(0.02*reach, math.Abs(dist(c.k, c.spare[0])-reach)) {
			return s.ends(LegsUnequal)
		}
	}
	for _, c := range list {
		if !s.below(g[2], c.k[2]) {
			return s.ends(WouldTip)
		}
	}
	s.fault = WouldTip
	for _, c := range list {
		var m [3][4]float64
		for i, q := range c.t {
			for j := range 3 {
				m[j][i] = (c.k[j] - q[j]) / dist(c.k, q)
				m[j][3] = (c.k[j] - g[j]) / dist(c.k, g)
			}
		}
		t, det := solve(m)
		if !s.below(1e-9, math.Abs(det)) || s.below(t[0], -1e-6) || s.below(t[1], -1e-6) || s.below(t[2], -1e-6) {
			continue
		}
		s.keep(p, g, c.k, max(t[0], t[1], t[2]))
		s.fault = Hangs
	}
	return s
}

func randomRig(m *rand.Rand) Rig {
	mm := func(n int) quantity.Length { return quantity.Length(n) * quantity.Millimetre }
	n := 2 + m.IntN(3)
	r := Rig{Reach: mm(300 + m.IntN(6000)), Adjustable: m.IntN(2) == 0}
	radius := 100 + m.IntN(3000)
	for i := range n {
		turn := 2*math.Pi*float64(i)/float64(n) + (m.Float64()-0.5)*[]float64{0, 0.1, 3}[m.IntN(3)]
		p := Point{mm(int(float64(radius) * math.Cos(turn))), mm(int(float64(radius) * math.Sin(turn))), 0}
		if m.IntN(3) == 0 {
			p.Z = mm(m.IntN(400) - 200)
		}
		r.Picks = append(r.Picks, p)
	}
	if m.IntN(20) == 0 {
		r.Picks[0] = r.Picks[1]
	}
	r.CG = Point{mm(m.IntN(radius/4+1) - radius/8), mm(m.IntN(radius/4+1) - radius/8), mm(m.IntN(2000) - 1500)}
	if n == 2 && m.IntN(2) == 0 {
		r.CG.Y = 0
	}
	if r.Adjustable && m.IntN(20) > 0 {
		hook := mm(m.IntN(5000) - 300)
		r.Hook = &hook
	}
	return r
}

func TestAgreesWithSecondImplementation(t *testing.T) {
	from := *seed
	if from == 0 {
		from = uint64(time.Now().UnixNano())
	}
	t.Logf("again with: go test ./core/lift -run %s -rounds %d -seed %d", t.Name(), *rounds, from)
	m := rand.New(rand.NewPCG(from, 0))
	seen, close := map[Fault]int{}, 0
	for range *rounds {
		r := randomRig(m)
		got, want := Hang(r), secondHang(r)
		if want.nearly {
			close++
			continue
		}
		seen[want.fault]++
		off := func(a, b, by float64) bool { return !(math.Abs(a-b) <= by*max(1, math.Abs(b))) }
		if got.Fault != want.fault || want.fault == Hangs &&
			(off(got.Tension, want.tension, 1e-6) || off(got.Flattest, want.flat, 1e-5) || off(got.Tilt, want.tilt, 1e-4) || off(got.Hook, want.hook, 1e-6)) {
			t.Fatalf("rig %+v\n got %+v\n want %+v", r, got, *want)
		}
	}
	if close > *rounds/20 {
		t.Errorf("%d of %d rigs were too close to call", close, *rounds)
	}
	if *rounds < 10_000 {
		return
	}
	for _, f := range []Fault{Hangs, NoHookHeight, ReachTooShort, LegsUnequal, WouldRoll, WouldTip} {
		if seen[f] < 20 {
			t.Errorf("only %d of %d rigs came to %q: the comparison says little about it", seen[f], *rounds, f)
		}
	}
}
