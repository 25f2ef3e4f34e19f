package scan

// A nudge is the small projection of a symbol onto itself that takes edges, the places
// where two neighbours meet that differ, to where they were found: the least-squares
// answer for eight numbers,
//
//	x' = x + a·x + b·y + c − x·(g·x + h·y)    y' = y + d·x + e·y + f − y·(g·x + h·y)
//
// and for how far dark has grown along either axis. An edge says something along its
// normal only. x and y are counted from the origin, in halves of a side. The zero value
// has no edges.
type nudge struct {
	half   float64 // of a side, in modules
	origin point   // on the symbol
	across axis    // what edges between neighbours side by side say
	down   axis    // what those between one above the other say
	edges  int
	square float64 // of how far they lie from where they ought to be, in modules
}

// unknowns is how many numbers a nudge finds.
const unknowns = 10

// add takes in an edge, and what it weighs.
func (n *nudge) add(e edge, weight float64) {
	x, y := (e.at.x-n.origin.x)/n.half, (e.at.y-n.origin.y)/n.half
	if e.across {
		n.across.add(&[axisTerms + 1]float64{x, y, 1, -x * x, -x * y, e.grown(), e.off / n.half}, weight)
	} else {
		n.down.add(&[axisTerms + 1]float64{x, y, 1, -y * x, -y * y, e.grown(), e.off / n.half}, weight)
	}
	n.edges++
	n.square += e.off * e.off
}

// axisTerms is how many of the unknowns the edges of one axis say something about.
const axisTerms = 6

// An axis gathers what its edges say: the sums of the products of the terms with each
// other, and last with how far off an edge is.
type axis [axisTerms][axisTerms + 1]float64

func (a *axis) add(row *[axisTerms + 1]float64, weight float64) {
	for i := range a {
		r := row[i] * weight
		for j := i; j < len(row); j++ {
			a[i][j] += r * row[j]
		}
	}
}

// into adds it to the equations in which the terms are these unknowns, in rising order.
func (a *axis) into(sums *[unknowns * (unknowns + 1)]float64, which [axisTerms + 1]int) {
	for i := range a {
		for j := i; j < len(which); j++ {
			sums[which[i]*(unknowns+1)+which[j]] += a[i][j]
		}
	}
}

// solved is the projection, where a change of each number costs as much as so many edges;
// false where the edges do not say.
func (n *nudge) solved(stiff [unknowns]float64) (projection, bool) {
	const width = unknowns + 1
	var sums [unknowns * width]float64
	n.across.into(&sums, [...]int{0, 1, 2, 6, 7, 8, unknowns})
	n.down.into(&sums, [...]int{3, 4, 5, 6, 7, 9, unknowns})
	for i := range unknowns {
		for j := range i {
			sums[i*width+j] = sums[j*width+i]
		}
		sums[i*width+i] += stiff[i]
	}
	if !eliminate(sums[:], unknowns) {
		return projection{}, false
	}
	v := func(i int) float64 { return sums[i*width+unknowns] }
	small := projection{{1 + v(0), v(1), v(2)}, {v(3), 1 + v(4), v(5)}, {v(6), v(7), 1}}
	in := projection{{1 / n.half, 0, -n.origin.x / n.half}, {0, 1 / n.half, -n.origin.y / n.half}, {0, 0, 1}}
	return in.inverse().after(small).after(in), true
}
