package lift

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"cribgate/core/quantity"

	"gonum.org/v1/gonum/mat"
)

// The independent solver. Where the hook stands follows from the lowest energy that
// the legs leave (two picks) or from a linear system solved by QR (three); tensions
// are the least-squares solution of the balance of forces at the hook, whose
// residue must vanish. Nothing of the package is used but its answer.

func col(v ...float64) *mat.VecDense { return mat.NewVecDense(len(v), v) }

func sub(a, b mat.Vector) *mat.VecDense {
	var v mat.VecDense
	v.SubVec(a, b)
	return &v
}

func unitOf(a mat.Vector) *mat.VecDense {
	var v mat.VecDense
	v.ScaleVec(1/mat.Norm(a, 2), a)
	return &v
}

func vector(p Point) *mat.VecDense {
	return col(float64(p.X)/1000, float64(p.Y)/1000, float64(p.Z)/1000)
}

// solved gives the tensions of legs from picks to a hook as shares of the load, and
// how far the forces are from balance.
func solved(t *testing.T, hook, cg mat.Vector, picks []mat.Vector) (tension []float64, residue float64) {
	t.Helper()
	a := mat.NewDense(3, len(picks), nil)
	for j, p := range picks {
		a.SetCol(j, unitOf(sub(hook, p)).RawVector().Data)
	}
	up := unitOf(sub(hook, cg))
	var x mat.VecDense
	if err := x.SolveVec(a, up); err != nil {
		return nil, math.Inf(1)
	}
	var back mat.VecDense
	back.MulVec(a, &x)
	return x.RawVector().Data, mat.Norm(sub(&back, up), 2)
}

// hookOfTwo is the hook over two picks: on the circle that legs of one length leave
// it, or at a height, where the centre of gravity hangs lowest below it.
func hookOfTwo(a, b, cg mat.Vector, reach float64) mat.Vector {
	axis := unitOf(sub(b, a))
	var middle mat.VecDense
	middle.AddScaledVec(a, mat.Norm(sub(b, a), 2)/2, axis)
	radius := math.Sqrt(reach*reach - math.Pow(mat.Norm(sub(b, a), 2)/2, 2))
	// Two directions across the axis, from the full QR of the axis alone.
	var qr mat.QR
	qr.Factorize(mat.NewDense(3, 1, axis.RawVector().Data))
	var q mat.Dense
	qr.QTo(&q)
	at := func(turn float64) mat.Vector {
		var k mat.VecDense
		k.AddScaledVec(&middle, radius*math.Cos(turn), q.ColView(1))
		k.AddScaledVec(&k, radius*math.Sin(turn), q.ColView(2))
		return &k
	}
	depth := func(turn float64) float64 { return mat.Norm(sub(at(turn), cg), 2) }
	// Depth is highest at one turn and falls on both sides of it.
	best := 0.0
	for turn := 0.0; turn < 2*math.Pi; turn += 0.01 {
		if depth(turn) > depth(best) {
			best = turn
		}
	}
	low, high := best-0.02, best+0.02
	for range 200 {
		x, y := low+(high-low)/3, high-(high-low)/3
		if depth(x) < depth(y) {
			low = x
		} else {
			high = y
		}
	}
	return at((low + high) / 2)
}

// hookOfThree solves |K − P| = reach for three picks: on the line through the
// centre of their circle, above them.
func hookOfThree(p []mat.Vector, reach float64) (mat.Vector, bool) {
	a := mat.NewDense(3, 3, nil)
	ab, ac := sub(p[1], p[0]), sub(p[2], p[0])
	n := col(ab.AtVec(1)*ac.AtVec(2)-ab.AtVec(2)*ac.AtVec(1), ab.AtVec(2)*ac.AtVec(0)-ab.AtVec(0)*ac.AtVec(2), ab.AtVec(0)*ac.AtVec(1)-ab.AtVec(1)*ac.AtVec(0))
	if n.AtVec(2) < 0 {
		n.ScaleVec(-1, n)
	}
	normal := unitOf(n)
	a.SetRow(0, ab.RawVector().Data)
	a.SetRow(1, ac.RawVector().Data)
	a.SetRow(2, normal.RawVector().Data)
	var out mat.VecDense
	if err := out.SolveVec(a, col(mat.Dot(ab, ab)/2, mat.Dot(ac, ac)/2, 0)); err != nil {
		return nil, false
	}
	rest := reach*reach - mat.Dot(&out, &out)
	if rest < 0 {
		return nil, false
	}
	var k mat.VecDense
	k.AddVec(p[0], &out)
	k.AddScaledVec(&k, math.Sqrt(rest), normal)
	return &k, true
}

// independent gives the largest share that each leg may have to carry.
func independent(t *testing.T, r Rig) []float64 {
	t.Helper()
	cg, n := vector(r.CG), len(r.Picks)
	reach := float64(r.Reach) / 1000
	most := make([]float64, n)
	choices := [][]int{{0, 1}}
	if n == 3 {
		choices = [][]int{{0, 1, 2}}
	} else if n == 4 {
		choices = [][]int{{0, 1, 2}, {0, 1, 3}, {0, 2, 3}, {1, 2, 3}}
	}
	for _, choice := range choices {
		var picks []mat.Vector
		for _, i := range choice {
			picks = append(picks, vector(r.Picks[i]))
		}
		var hook mat.Vector
		ok := true
		switch {
		case r.Adjustable:
			hook = col(cg.AtVec(0), cg.AtVec(1), float64(*r.Hook)/1000)
		case n == 2:
			hook = hookOfTwo(picks[0], picks[1], cg, reach)
		default:
			hook, ok = hookOfThree(picks, reach)
		}
		if !ok {
			continue
		}
		tension, residue := solved(t, hook, cg, picks)
		pulls := residue < 1e-6
		for _, x := range tension {
			pulls = pulls && x >= -1e-6
		}
		if !pulls {
			continue
		}
		for i, leg := range choice {
			most[leg] = max(most[leg], tension[i])
		}
	}
	return most
}

// Random lifts have the tensions that an independent solver finds.
func TestTensionsBesideAnIndependentSolver(t *testing.T) {
	s := *seed
	if s == 0 {
		s = uint64(time.Now().UnixNano())
	}
	n := *rounds / 50
	t.Logf("again with: go test ./core/lift -run %s -rounds %d -seed %d", t.Name(), *rounds, s)
	m := rand.New(rand.NewPCG(s, 1))
	var hung [5]int
	for range n {
		r := Rig{CG: at(m.IntN(201)-100, m.IntN(201)-100, -200-m.IntN(800)), Reach: quantity.Length(1200+m.IntN(3000)) * millimetre, Adjustable: m.IntN(2) == 0}
		k := 2 + m.IntN(3)
		turn, radius := m.Float64()*2*math.Pi, 400+600*m.Float64()
		slope := 0 // picks at several heights
		if r.Adjustable && k > 2 {
			slope = 60
		}
		for i := range k {
			a := turn + 2*math.Pi*float64(i)/float64(k) + 0.2*(m.Float64()-0.5)
			r.Picks = append(r.Picks, at(int(radius*math.Cos(a)), int(radius*math.Sin(a)), m.IntN(slope+1)))
		}
		switch a, b := r.Picks[0], r.Picks[1]; {
		case k == 2 && r.Adjustable: // the centre of gravity about in the plane of the picks
			middle := m.Float64()*0.6 + 0.2
			r.CG.X = a.X + quantity.Length(middle*float64((b.X-a.X)/millimetre))*millimetre
			r.CG.Y = a.Y + quantity.Length(middle*float64((b.Y-a.Y)/millimetre))*millimetre
		case k == 2:
			r.Picks[1].Z += quantity.Length(m.IntN(100)) * millimetre
		}
		if r.Adjustable {
			r.Hook = height(300 + m.IntN(2500))
		}
		h := Hang(r)
		if h.Fault != Hangs {
			continue
		}
		want := independent(t, r)
		if r.Adjustable && k == 2 {
			want = levelPair(t, r)
		}
		for i, leg := range h.Legs() {
			if math.Abs(leg.Tension-want[i]) > 1e-6 {
				t.Fatalf("leg %d of %+v carries %v; the independent solver says %v", i+1, r, leg.Tension, want[i])
			}
		}
		hung[k]++
	}
	for k := 2; k <= 4; k++ {
		if n >= 400 && hung[k] < n/20 {
			t.Errorf("only %d of %d lifts hang from %d picks", hung[k], n, k)
		}
	}
}

// levelPair solves two adjustable legs in the upright plane of the picks: whole
// millimetres put the centre of gravity a little beside it, and the load then rolls
// by as much.
func levelPair(t *testing.T, r Rig) []float64 {
	t.Helper()
	a, b, cg := vector(r.Picks[0]), vector(r.Picks[1]), vector(r.CG)
	axis := unitOf(sub(b, a))
	along := mat.Dot(sub(cg, a), axis)
	var foot mat.VecDense
	foot.AddScaledVec(a, along, axis)
	// Rolled until the centre of gravity is below the line, the drawing is flat:
	// along the line, and up from the centre of gravity through its foot.
	n := unitOf(sub(&foot, cg))
	depth := mat.Norm(sub(&foot, cg), 2)
	rise := (float64(*r.Hook)/1000 - cg.AtVec(2)) / n.AtVec(2)
	flat := func(x, y float64) mat.Vector { return col(x, 0, y) }
	tension, residue := solved(t, flat(along, rise-depth), flat(along, -depth), []mat.Vector{flat(0, 0), flat(mat.Norm(sub(b, a), 2), 0)})
	if residue > 1e-9 {
		t.Fatalf("forces of %+v are %v from balance", r, residue)
	}
	return tension
}
