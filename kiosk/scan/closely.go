package scan

import (
	"cmp"
	"math"
	"slices"
)

// Lines through a finder that is blurred or scratched have no finder's widths. Where
// lines have led to nothing, every place is asked instead whether some twenty spots
// around it are dark and light as a finder's are, turned by fourths of a right angle.

const (
	// closeStep is how many pixels lie between two places that are asked.
	closeStep = 2
	// mostClose is how many of the places found are looked at like seeds.
	mostClose = 12
	// closeDark is how far below 0 the middle must lie, and closeLeast how much darker
	// the dark spots must be than the light ones, of 64 for one usual difference (found by
	// trial, no source).
	closeDark, closeLeast = 24, 62
)

// closeSizes are the pixels of a module that are asked for; each size of the picture has
// twice as many as the next.
var closeSizes = [...]float64{2, 2.5, 3.2}

// A spots is where the spots of a finder lie around its middle, as distances in memory.
type spots struct {
	middle, light, dark [8]int
	outer               [4]int
}

// spotsOf are those of a finder whose modules have so many pixels, turned by so many
// fourths of a right angle.
func spotsOf(size float64, turn, width int) (s spots) {
	cos, sin := [...]float64{1, 0.92388, 0.70711, 0.38268}[turn], [...]float64{0, 0.38268, 0.70711, 0.92388}[turn]
	at := func(x, y float64) int {
		u, v := size*(x*cos-y*sin), size*(x*sin+y*cos)
		return int(math.Round(v))*width + int(math.Round(u))
	}
	for i, d := range [...][2]float64{{1, 0}, {0, 1}, {-1, 0}, {0, -1}, {1, 1}, {-1, 1}, {-1, -1}, {1, -1}} {
		s.middle[i], s.light[i], s.dark[i] = at(d[0], d[1]), at(2*d[0], 2*d[1]), at(3*d[0], 3*d[1])
		if i < len(s.outer) {
			s.outer[i] = at(4*d[0], 4*d[1])
		}
	}
	return s
}

// A spotted is a place that looks like a finder, as a seed, and how much.
type spotted struct {
	seed
	score int
}

// closely looks for finders everywhere at one size of the picture, and gives those
// places that look most like one.
func (s *search) closely(r *relief) []spotted {
	var all []spotted
	bins := map[int]int{} // the place in all, by square of the picture
	for _, size := range closeSizes {
		var ways [4]spots
		for turn := range ways {
			ways[turn] = spotsOf(size, turn, r.width)
		}
		margin, one := int(math.Ceil(4*math.Sqrt2*size))+1, int(math.Round(size))
		for y := margin; y < r.height-margin; y += closeStep {
			for x := margin; x < r.width-margin; x += closeStep {
				i := y*r.width + x
				if r.out[i] > -closeDark/2 {
					continue
				}
				if plus := int(r.out[i]) + int(r.out[i-one]) + int(r.out[i+one]) + int(r.out[i-one*r.width]) + int(r.out[i+one*r.width]); plus > -5*closeDark {
					continue
				}
				best := 0
				for w := range ways {
					best = max(best, ways[w].score(r.out, i))
				}
				if best < closeLeast {
					continue
				}
				bin := (y>>4)<<16 | x>>4
				found := spotted{seed{x: float64(x) + 0.5, y: float64(y) + 0.5, width: 7 * size, tall: 7 * size}, best}
				if at, ok := bins[bin]; !ok {
					bins[bin] = len(all)
					all = append(all, found)
				} else if all[at].score < best {
					all[at] = found
				}
			}
		}
		s.effort -= r.width * r.height / (closeStep * closeStep)
	}
	slices.SortStableFunc(all, func(a, b spotted) int { return cmp.Compare(b.score, a.score) })
	return all[:min(len(all), mostClose)]
}

// score is how much darker the spots are that ought to be dark than those that ought to
// be light, 0 where it is plain that this is no finder.
func (w *spots) score(out []int8, i int) int {
	middle := int(out[i])
	for _, d := range w.middle {
		middle += int(out[i+d])
	}
	if middle > -9*closeDark {
		return 0
	}
	light := 0
	for _, d := range w.light {
		light += int(out[i+d])
	}
	if light*9 <= middle*8 {
		return 0
	}
	dark := 0
	for _, d := range w.dark {
		dark += int(out[i+d])
	}
	outer := 0
	for _, d := range w.outer {
		outer += int(out[i+d])
	}
	return (light+outer)/12 - (dark+middle)/17
}

// nearEffort is what it costs to look at such a place, in looks at one module.
const nearEffort = 32 * looksAtMark

// markNear looks at a place of which it is not known how large its modules are: at every
// angle in some sizes, and at the two that fit best more closely.
func (r *relief) markNear(at seed) (best mark, ok bool) {
	const angles = 8
	var first, second mark
	for _, wide := range [...]float64{0.8, 0.95, 1.13, 1.35} {
		for i := range angles {
			sin, cos := math.Sincos(math.Pi / 2 * float64(i) / angles)
			step := at.width / 7 * wide
			m := mark{middle: point{at.x, at.y}, across: point{step * cos, step * sin}, down: point{-step * sin, step * cos}}
			switch m.likeness = r.likeness(m); {
			case m.likeness > first.likeness:
				first, second = m, first
			case m.likeness > second.likeness:
				second = m
			}
		}
	}
	for _, m := range [...]mark{first, second} {
		if m.likeness < likely/2 {
			break
		}
		if m = r.climb(m, 1); m.likeness > best.likeness && m.sound() {
			best = m
		}
	}
	return best, best.likeness >= found
}
