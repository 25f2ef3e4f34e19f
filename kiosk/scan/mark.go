package scan

import "math"

// A mark is a finder as it lies in a relief: its middle, and the two steps that go
// one module along its sides. Which of its sides is which it does not say.
type mark struct {
	middle, across, down point
	likeness             float64 // 1 for a finder without a fault, 0 for anything
}

const (
	// reach is how far from its middle, in modules, a finder and the light line around
	// it go.
	reach = 4
	// likely is from which likeness on a place is looked at closely, and found from
	// which it is taken for a finder (found by trial on worn tags, no source).
	likely, found = 0.35, 0.55
)

// finderLight is a finder with the light line around it, row by row: 1 is light.
var finderLight = func() (all [2*reach + 1][2*reach + 1]int8) {
	for j := range all {
		for i := range all[j] {
			all[j][i] = 1
			if ring := max(i-reach, reach-i, j-reach, reach-j); ring != 2 && ring != reach {
				all[j][i] = -1
			}
		}
	}
	return all
}()

// likeness is how well a relief agrees with a finder at a place: the correlation of
// the 81 middles of its modules with what they ought to be, from -1 to 1. It is
// that of a light one on dark with its sign turned.
func (r *relief) likeness(m mark) float64 {
	const one = 1 << 16
	// The first of the places, in pixels less a half, and the steps, as whole numbers.
	x0 := int((m.middle.x - reach*(m.across.x+m.down.x) - 0.5) * one)
	y0 := int((m.middle.y - reach*(m.across.y+m.down.y) - 0.5) * one)
	ax, ay, dx, dy := int(m.across.x*one), int(m.across.y*one), int(m.down.x*one), int(m.down.y*one)
	far := 2 * reach
	left, right := x0+min(0, far*ax)+min(0, far*dx), x0+max(0, far*ax)+max(0, far*dx)
	top, bottom := y0+min(0, far*ay)+min(0, far*dy), y0+max(0, far*ay)+max(0, far*dy)
	if left < 0 || top < 0 || right>>16 >= r.width-1 || bottom>>16 >= r.height-1 {
		return r.likenessAtEdge(m)
	}
	sum, square, product := 0, 0, 0
	for j := range 2*reach + 1 {
		x, y := x0+j*dx, y0+j*dy
		for _, want := range &finderLight[j] {
			fx, fy := x>>8&255, y>>8&255
			i := y>>16*r.width + x>>16
			above, below := r.out[i:i+2:i+2], r.out[i+r.width:i+r.width+2:i+r.width+2]
			v := ((int(above[0])*(256-fx)+int(above[1])*fx)*(256-fy) + (int(below[0])*(256-fx)+int(below[1])*fx)*fy) >> 16
			sum += v
			square += v * v
			product += v * int(want)
			x += ax
			y += ay
		}
	}
	return correlation(sum, square, product)
}

// likenessAtEdge is likeness where some of the places lie outside, and say nothing.
func (r *relief) likenessAtEdge(m mark) float64 {
	sum, square, product := 0, 0, 0
	for j := range 2*reach + 1 {
		for i, want := range finderLight[j] {
			a, d := float64(i-reach), float64(j-reach)
			v := r.at(m.middle.x+a*m.across.x+d*m.down.x, m.middle.y+a*m.across.y+d*m.down.y)
			sum += v
			square += v * v
			product += v * int(want)
		}
	}
	return correlation(sum, square, product)
}

// correlation is that of what was found with a finder.
func correlation(sum, square, product int) float64 {
	const light = 48 - 33 // of the 81 modules, less those that are dark
	const n = (2*reach + 1) * (2*reach + 1)
	return (float64(product) - float64(sum)*light/n) /
		math.Sqrt((float64(square)-float64(sum)*float64(sum)/n+1)*(n-float64(light*light)/n))
}

// markAt looks at a seed: at every angle first, then moving, turning and stretching
// what fits best until nothing better is near.
func (r *relief) markAt(s seed, sign float64) (mark, bool) {
	const angles = 8
	var best mark
	for i := range angles {
		sin, cos := math.Sincos(math.Pi / 2 * float64(i) / angles)
		// A line along an axis crosses a square that is turned on a longer way. What is wider
		// than tall is a square that was squeezed.
		wide, tall := s.width/7*max(sin, cos), s.tall/7*max(sin, cos)
		m := mark{middle: point{s.x, s.y}, across: point{wide * cos, tall * sin}, down: point{-wide * sin, tall * cos}}
		if m.likeness = sign * r.likeness(m); i == 0 || m.likeness > best.likeness {
			best = m
		}
	}
	if best.likeness < likely {
		return mark{}, false
	}
	best = r.climb(best, sign)
	return best, best.likeness >= found && best.sound()
}

// looksAtMark is what a likeness costs, in looks at one module of a lattice, which are
// dearer.
const looksAtMark = 40

// climb moves a mark to where it fits best nearby.
func (r *relief) climb(m mark, sign float64) mark {
	size := math.Sqrt(math.Abs(m.area()))
	for step := 0.5 * size; step > 0.05*size; step /= 2 {
		for range 3 {
			moved := false
			for i := range 6 {
				for _, by := range [...]float64{step, -step} {
					n := m
					switch i {
					case 0:
						n.middle.x += by
					case 1:
						n.middle.y += by
					case 2: // the ends of a side move by as much as the middle does
						n.across.x += by / reach
					case 3:
						n.across.y += by / reach
					case 4:
						n.down.x += by / reach
					case 5:
						n.down.y += by / reach
					}
					r.looks += looksAtMark
					if n.likeness = sign * r.likeness(n); n.likeness > m.likeness {
						m, moved = n, true
						break
					}
				}
			}
			if !moved {
				break
			}
		}
	}
	return m
}

// area is of one module.
func (m mark) area() float64 { return m.across.x*m.down.y - m.across.y*m.down.x }

// sound tells whether the sides are those of a square seen from anywhere near its
// front: not a sliver, and large enough to be told from noise.
func (m mark) sound() bool {
	a, b := math.Hypot(m.across.x, m.across.y), math.Hypot(m.down.x, m.down.y)
	return a > 0.8 && b > 0.8 && a < 2.5*b && b < 2.5*a && m.area() > 0.4*a*b
}

// same tells whether two marks are of one finder.
func (m mark) same(o mark) bool {
	return math.Hypot(m.middle.x-o.middle.x, m.middle.y-o.middle.y) < 2.5*math.Sqrt(math.Abs(m.area()))
}

// scaled is the mark where a pixel is as many.
func (m mark) scaled(by float64) mark {
	for _, p := range [...]*point{&m.middle, &m.across, &m.down} {
		p.x, p.y = p.x*by, p.y*by
	}
	return m
}

// along writes a place as steps across and down from the mark's middle.
func (m mark) along(p point) (across, down float64) {
	dx, dy, area := p.x-m.middle.x, p.y-m.middle.y, m.area()
	return (dx*m.down.y - dy*m.down.x) / area, (dy*m.across.x - dx*m.across.y) / area
}

// apart is how far two places lie from each other, squared.
func (p point) apart(q point) float64 { return (p.x-q.x)*(p.x-q.x) + (p.y-q.y)*(p.y-q.y) }

// stretch is the length of a module of the mark in a direction.
func (m mark) stretch(towards point) float64 {
	a, d := m.along(towards)
	if far := a*a + d*d; far > 0 {
		return math.Sqrt(towards.apart(m.middle) / far)
	}
	return 0
}

// shrinks is what a projection divides by on the way to another mark along a side, within
// bounds (found by trial, no source).
func (m mark) shrinks(to mark) float64 {
	return min(max(math.Sqrt(m.stretch(to.middle)/to.stretch(m.middle)), 0.6), 1.7)
}
