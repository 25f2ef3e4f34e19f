package scan

import "math"

// A sampled is a symbol's modules as they were sampled.
type sampled struct {
	modules int
	mean    []float32 // brightness
	soft    []soft
	sums    []float64
	equal   equalizer
}

// take reads each module of a lattice: the mean of nine places in it.
func (s *sampled) take(pix *relief, l *lattice) {
	scale := l.on.shrink / pix.shrink
	n := l.pattern.modules
	s.modules = n
	s.mean = grown(s.mean, n*n)
	g := l.grid
	for j := range n {
		for i := range n {
			sum := 0
			flat := l.sheet.at(point{float64(i) + 0.5, float64(j) + 0.5})
			for _, dy := range [...]float64{-0.25, 0, 0.25} {
				for _, dx := range [...]float64{-0.25, 0, 0.25} {
					x, y := flat.x+dx, flat.y+dy
					w := scale / (g[2][0]*x + g[2][1]*y + g[2][2])
					sum += pix.brightness((g[0][0]*x+g[0][1]*y+g[0][2])*w, (g[1][0]*x+g[1][1]*y+g[1][2])*w)
				}
			}
			s.mean[j*n+i] = float32(sum) / 9
		}
	}
}

// brightness is that at a place, times 16.
func (r *relief) brightness(x, y float64) int {
	fx, fy := int(x*64)-32, int(y*64)-32
	ix, iy := fx>>6, fy>>6
	if !(x > -1e6 && x < 1e6 && y > -1e6 && y < 1e6) {
		ix, iy = 0, 0
	}
	if ix < 0 || iy < 0 || ix >= r.width-1 || iy >= r.height-1 {
		ix, iy = min(max(ix, 0), r.width-1), min(max(iy, 0), r.height-1)
		return int(r.pix[iy*r.width+ix]) * 16
	}
	fx, fy = fx&63, fy&63
	i := iy*r.width + ix
	above, below := r.pix[i:i+2:i+2], r.pix[i+r.width:i+r.width+2:i+r.width+2]
	return ((int(above[0])*(64-fx)+int(above[1])*fx)*(64-fy) + (int(below[0])*(64-fx)+int(below[1])*fx)*fy) >> 8
}

// decide compares each module with those around it.
func (s *sampled) decide(sign float64) {
	n := s.modules
	s.soft = grown(s.soft, n*n)
	s.sums = grown(s.sums, 2*(n+1)*(n+1))
	m := n + 1
	first, second := s.sums[:m*m], s.sums[m*m:]
	for i := range m {
		first[i], second[i] = 0, 0
	}
	for y := range n {
		a, b := 0.0, 0.0
		first[(y+1)*m], second[(y+1)*m] = 0, 0
		for x := range n {
			v := float64(s.mean[y*n+x])
			a += v
			b += v * v
			first[(y+1)*m+x+1] = first[y*m+x+1] + a
			second[(y+1)*m+x+1] = second[y*m+x+1] + b
		}
	}
	// Where nothing differs much, as under glare, nothing is sure.
	const around = 4
	all := float64(n * n)
	middle := first[len(first)-1] / all
	least := 1 + 0.3*math.Sqrt(max(second[len(second)-1]/all-middle*middle, 0))
	for y := range n {
		y0, y1 := max(y-around, 0), min(y+around+1, n)
		for x := range n {
			x0, x1 := max(x-around, 0), min(x+around+1, n)
			count := float64((x1 - x0) * (y1 - y0))
			mean := (first[y1*m+x1] - first[y0*m+x1] - first[y1*m+x0] + first[y0*m+x0]) / count
			spread := math.Sqrt(max((second[y1*m+x1]-second[y0*m+x1]-second[y1*m+x0]+second[y0*m+x0])/count-mean*mean, 0))
			spread = max(spread, least)
			s.soft[y*n+x] = soft(min(max(sign*plain*(float64(s.mean[y*n+x])-mean)/spread, -250), 250))
		}
	}
}

func (s *sampled) at(column, row int) soft         { return s.soft[row*s.modules+column] }
func (s *sampled) turnedOver(column, row int) soft { return s.soft[column*s.modules+row] }

// grid is what was sampled.
func (s *sampled) grid() Grid {
	g := Grid{modules: s.modules, light: make([]uint8, len(s.soft))}
	for i, v := range s.soft {
		g.light[i] = uint8(min(max(128+int(v), 0), 255))
	}
	return g
}
