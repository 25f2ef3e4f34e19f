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
	sums   [unknowns][unknowns + 1]float64
	edges  int
	square float64 // of how far they lie from where they ought to be, in modules
}

// unknowns is how many numbers a nudge finds.
const unknowns = 10

// add takes in an edge: where it ought to be, whether its neighbours lie side by side, 1
// where the first is the darker and else -1, how far off it is, in modules, and what it
// weighs.
func (n *nudge) add(x, y float64, across bool, grown, off, weight float64) {
	x, y = (x-n.origin.x)/n.half, (y-n.origin.y)/n.half
	row := [unknowns]float64{3: x, 4: y, 5: 1, 6: -y * x, 7: -y * y, 9: grown}
	if across {
		row = [unknowns]float64{0: x, 1: y, 2: 1, 6: -x * x, 7: -x * y, 8: grown}
	}
	for i, r := range row {
		if r == 0 {
			continue
		}
		r *= weight
		for j := i; j < unknowns; j++ {
			n.sums[i][j] += r * row[j]
		}
		n.sums[i][unknowns] += r * off / n.half
	}
	n.edges++
	n.square += off * off
}

// solved is the projection, where a change of each number costs as much as so many edges;
// false where the edges do not say.
func (n *nudge) solved(stiff [unknowns]float64) (projection, bool) {
	for i := range n.sums {
		for j := range i {
			n.sums[i][j] = n.sums[j][i]
		}
		n.sums[i][i] += stiff[i]
	}
	v, ok := solve(n.sums)
	if !ok {
		return projection{}, false
	}
	small := projection{{1 + v[0], v[1], v[2]}, {v[3], 1 + v[4], v[5]}, {v[6], v[7], 1}}
	in := projection{{1 / n.half, 0, -n.origin.x / n.half}, {0, 1 / n.half, -n.origin.y / n.half}, {0, 0, 1}}
	return in.inverse().after(small).after(in), true
}
