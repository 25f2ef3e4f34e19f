package scan

// A picture that is not sharp, or was taken while the tag moved, mixes each module with
// those around it, and in the same way all over the symbol. The fixed modules tell that
// way: of each it is known what it ought to be, and what was seen of it and its neighbours.

const (
	// mixed is how far, in modules, a module is mixed with others (site policy, no source),
	// and taps how many those are, itself among them.
	mixed = 2
	taps  = (2*mixed + 1) * (2*mixed + 1)
	// calm is what it costs to take any notice of one, in fixed modules, so that chance
	// counts for little (found by trial, no source: at 12 fewer are read that moved).
	calm = 1
	// plain is what a module says that is of its kind without a doubt.
	plain = 100
)

// An equalizer is what the equations are written into. It is used again and again.
type equalizer struct {
	around []float64 // what was seen of each module and its neighbours
	sums   [taps * (taps + 1)]float64
}

// equalize makes modules that were decided what they ought to be, as nearly as the fixed
// ones tell, from themselves and those around them. Where the fixed ones do not tell,
// nothing changes.
func (s *sampled) equalize(p *pattern) {
	n, e := s.modules, &s.equal
	e.around = grown(e.around, n*n*taps)
	for row := range n {
		for column := range n {
			at := e.around[(row*n+column)*taps:][:0]
			for y := row - mixed; y <= row+mixed; y++ {
				for x := column - mixed; x <= column+mixed; x++ {
					v := 0.0
					if x >= 0 && y >= 0 && x < n && y < n {
						v = float64(s.soft[y*n+x])
					}
					at = append(at, v)
				}
			}
		}
	}
	e.sums = [len(e.sums)]float64{}
	const width = taps + 1
	for _, some := range [...][]fixed{p.finders, p.timing, p.alignment, p.number} {
		for _, f := range some {
			around := e.around[(int(f.y)*n+int(f.x))*taps:][:taps]
			for i, a := range around {
				row := e.sums[i*width:][:width]
				for j := i; j < taps; j++ {
					row[j] += a * around[j]
				}
				row[taps] += a * plain * float64(f.light)
			}
		}
	}
	for i := range taps {
		for j := range i {
			e.sums[i*width+j] = e.sums[j*width+i]
		}
		e.sums[i*width+i] += calm * plain * plain
	}
	e.sums[taps/2*width+taps] += calm * plain * plain
	if !eliminate(e.sums[:], taps) {
		return
	}
	for i := range s.soft {
		v := 0.0
		for k, a := range e.around[i*taps:][:taps] {
			v += a * e.sums[k*width+taps]
		}
		s.soft[i] = soft(min(max(v, -250), 250))
	}
}
