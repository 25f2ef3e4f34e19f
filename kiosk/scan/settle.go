package scan

// settle moves the four places of a lattice to where dark and light meet, as
// [lattice.bendTo] bends it, on a flat plate. It begins with the half that lies
// between the three finders, where the grid is nearly right whatever the fourth place
// is, and goes on to the whole, so that a fourth place that was found wrong by some
// modules, under glare say, is led to the right one. It says at how many modules it
// looked.
func (l *lattice) settle(scratch *[]int16) (looks int) {
	n := l.pattern.modules
	l.bend = bend{}
	half := float64(n) / 2
	for _, part := range [...]float64{1, 1, 1.15, 1.3, 1.5, 1.75, 2, 2} {
		by := nudge{half: half, origin: point{half, half}}
		looks += n*n + l.eachEdge(scratch, n, int(part*float64(n)), func(x, y float64, across bool, grown, off float64) {
			by.add(x, y, across, grown, off, 1)
		})
		if by.edges < 8*unknowns {
			return looks
		}
		small, ok := by.solved([unknowns]float64{})
		if !ok {
			return looks
		}
		l.grid = l.grid.after(small)
	}
	l.agrees = l.agreement()
	return looks
}

// eachEdge gives each place where two neighbours meet that differ, of those whose
// column and row are less than side, and together less than until: where it ought to be, whether they lie
// side by side, 1 where the first is the darker and else -1, and how far from where it
// ought to be the relief passes 0, in modules. It says at how many modules it looked.
func (l *lattice) eachEdge(scratch *[]int16, side, until int, give func(x, y float64, across bool, grown, off float64)) (looks int) {
	n := l.pattern.modules
	*scratch = grown(*scratch, n*n)
	middles := *scratch
	for y := range min(n, side+1) {
		for x := range min(n, side+1, max(until-y+1, 0)) {
			p := l.place(float64(x)+0.5, float64(y)+0.5)
			middles[y*n+x] = int16(l.on.at(p.x, p.y))
		}
	}
	for y := range min(n, side) {
		for x := range min(n, side, max(until-y, 0)) {
			if x+1 < n {
				if grown, off, ok := l.edge(x, y, 1, 0, middles[y*n+x], middles[y*n+x+1]); ok {
					give(float64(x)+1, float64(y)+0.5, true, grown, off)
					looks += edgeLooks
				}
			}
			if y+1 < n {
				if grown, off, ok := l.edge(x, y, 0, 1, middles[y*n+x], middles[(y+1)*n+x]); ok {
					give(float64(x)+0.5, float64(y)+1, false, grown, off)
					looks += edgeLooks
				}
			}
		}
	}
	return looks
}

// edgeLooks is what an edge costs, with all that is then done with it.
const edgeLooks = 8

// distinct is how far two neighbours must stand out for the place where they meet to
// be looked for.
const distinct = 24

// edge looks for the place where a module meets the next one, by a step of dx, dy.
func (l *lattice) edge(x, y int, dx, dy float64, here, next int16) (grown, off float64, ok bool) {
	if !(here > distinct && next < -distinct || here < -distinct && next > distinct) {
		return 0, 0, false
	}
	from, last := 0.0, float64(here)
	for i := 1; i <= 4; i++ {
		to, v := float64(i)/4, float64(next)
		if i < 4 {
			p := l.place(float64(x)+0.5+dx*to, float64(y)+0.5+dy*to)
			v = float64(l.on.at(p.x, p.y))
		}
		if (v < 0) != (here < 0) {
			from += (to - from) * last / (last - v)
			break
		}
		from, last = to, v
	}
	grown = 1
	if here > 0 {
		grown = -1
	}
	return grown, from - 0.5, true
}
