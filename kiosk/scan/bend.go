package scan

// A bend is how far the modules of a plate that is not flat lie from where they would
// on a flat one: for either axis a cubic of the place, in modules, both from -1 to 1
// over the symbol. So it follows a plate that is bent one way, both ways or twisted,
// and a symbol of cloth. The zero value is flat.
type bend struct {
	half float64 // of the symbol's side, in modules
	x, y [terms]float64
}

// terms is how many a cubic of two numbers has: 1, x, y, x², xy, y², x³, x²y, xy², y³.
const terms = 10

func powersOf(x, y float64) [terms]float64 {
	return [terms]float64{1, x, y, x * x, x * y, y * y, x * x * x, x * x * y, x * y * y, y * y * y}
}

// at takes a place on the symbol to where it would lie on a flat one. Outside the
// symbol it goes on as at its edge, since a cubic runs away.
func (b *bend) at(p point) point {
	if b.half == 0 {
		return p
	}
	const edge = 1.1
	x, y := min(max(p.x/b.half-1, -edge), edge), min(max(p.y/b.half-1, -edge), edge)
	return point{p.x + cubic(&b.x, x, y), p.y + cubic(&b.y, x, y)}
}

// cubic is the sum of the terms, the powers multiplied out.
func cubic(c *[terms]float64, x, y float64) float64 {
	return c[0] + x*(c[1]+y*c[4]+x*(c[3]+x*c[6]+y*c[7])) + y*(c[2]+y*(c[5]+x*c[8]+y*c[9]))
}

// turnedOver is the bend where columns and rows have changed over.
func (b bend) turnedOver() bend {
	o := bend{half: b.half}
	for i, j := range [terms]int{0, 2, 1, 5, 4, 3, 9, 8, 7, 6} {
		o.x[j], o.y[j] = b.y[i], b.x[i]
	}
	return o
}

const (
	// stiff is what a term of the third and of the second power costs, in edges that lie
	// one module off, so that few edges do not bend a plate (found by trial, no source).
	stiff = 4
	// growth is the unknown after the terms: by how much dark has grown.
	growth = terms
)

// A bending gathers what the edges of one axis say.
type bending struct {
	sums [terms + 1][terms + 2]float64
	n    int
}

func (b *bending) add(all *[terms]float64, grown, off float64) {
	var row [terms + 1]float64
	copy(row[:], all[:])
	row[growth] = grown
	for i, r := range row {
		for j := i; j <= growth; j++ {
			b.sums[i][j] += r * row[j]
		}
		b.sums[i][terms+1] += r * off
	}
	b.n++
}

// solved is the cubic, of the first power only where order is 1, and so on; false
// where there are too few edges.
func (b *bending) solved(order int) (v [terms]float64, ok bool) {
	const few = 60
	if b.n < few {
		return v, false
	}
	m := b.sums
	for i := range m {
		for j := range i {
			m[i][j] = m[j][i]
		}
	}
	for i := range terms {
		switch power := powerOf(i); {
		case power > order:
			m[i][i] += 1e12
		case power > 1:
			m[i][i] += stiff
		}
	}
	for c := range m {
		if m[c][c] < 1e-9 {
			return v, false
		}
		for r := range m {
			if r == c {
				continue
			}
			f := m[r][c] / m[c][c]
			for k := c; k < len(m[r]); k++ {
				m[r][k] -= f * m[c][k]
			}
		}
	}
	for i := range v {
		v[i] = m[i][terms+1] / m[i][i]
	}
	return v, true
}

// powerOf is the power of a term.
func powerOf(term int) int {
	switch {
	case term == 0:
		return 0
	case term < 3:
		return 1
	case term < 6:
		return 2
	}
	return 3
}

// bendTo bends a lattice to where dark and light meet: between the middles of two
// neighbours that differ the relief passes 0, and that ought to be half way. Which
// modules ought to be dark is not asked. It says at how many modules it looked.
func (l *lattice) bendTo(scratch *[]int16) (looks int) {
	n := l.pattern.modules
	l.bend.half = float64(n) / 2
	for round := range 7 {
		var across, down bending
		looks += n*n + l.eachEdge(scratch, n, 2*n, func(x, y float64, sideways bool, grown, off float64) {
			all := powersOf(x/l.bend.half-1, y/l.bend.half-1)
			if sideways {
				across.add(&all, grown, off)
			} else {
				down.add(&all, grown, off)
			}
		})
		order := min(1+round/2, 3)
		dx, okX := across.solved(order)
		dy, okY := down.solved(order)
		if !okX || !okY {
			break
		}
		for i := range dx {
			l.bend.x[i] += dx[i]
			l.bend.y[i] += dy[i]
		}
	}
	return looks
}

// place takes a place on the symbol to the relief.
func (l *lattice) place(x, y float64) point { return l.grid.at(l.bend.at(point{x, y})) }
