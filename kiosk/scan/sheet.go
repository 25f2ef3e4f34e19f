package scan

// A sheet is how far the modules of a plate that is not flat lie from where they would
// on a flat one, in modules: at the knots of a square net over the symbol, and straight
// between those. So it follows a plate that is bowed, twisted or creased, and a frame
// that was read out while it moved. The zero value is flat.
type sheet struct {
	apart float64 // between two knots, in modules; 0 is flat
	x, y  [knots * knots]float64
}

// knots are on each side of the net: they lie as far apart on a tag as a finder is wide by
// half (found by trial, no source).
const knots = 11

// sheetOf is a flat one for a symbol of so many modules.
func sheetOf(modules int) sheet { return sheet{apart: float64(modules) / (knots - 1)} }

// at takes a place on the symbol to where it would lie on a flat one. Outside the symbol
// it goes on as at its edge.
func (s *sheet) at(p point) point {
	if s.apart == 0 {
		return p
	}
	k, w := s.around(p.x, p.y)
	return point{
		p.x + w[0]*s.x[k] + w[1]*s.x[k+1] + w[2]*s.x[k+knots] + w[3]*s.x[k+knots+1],
		p.y + w[0]*s.y[k] + w[1]*s.y[k+1] + w[2]*s.y[k+knots] + w[3]*s.y[k+knots+1],
	}
}

// around is the first of the four knots around a place, and what each of them counts
// there: that one, the next, and the two below.
func (s *sheet) around(x, y float64) (first int, w [4]float64) {
	const last = knots - 1
	u, v := min(max(x/s.apart, 0), last), min(max(y/s.apart, 0), last)
	i, j := max(min(int(u), last-1), 0), max(min(int(v), last-1), 0) // also for NaN
	u, v = u-float64(i), v-float64(j)
	return j*knots + i, [4]float64{(1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v}
}

// turnedOver is the sheet where columns and rows have changed over.
func (s *sheet) turnedOver() sheet {
	o := sheet{apart: s.apart}
	for j := range knots {
		for i := range knots {
			o.x[i*knots+j], o.y[i*knots+j] = s.y[j*knots+i], s.x[j*knots+i]
		}
	}
	return o
}
