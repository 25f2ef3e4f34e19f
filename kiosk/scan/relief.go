package scan

import "math"

// A relief is a picture's brightness at one size, and beside it how far each pixel
// stands out from those around it: below 0 darker, above lighter, in shares of how
// much they differ among themselves there, 64 for one usual difference. So a shadow, a
// faded patch and glare all look alike, and what is dark is what is below 0.
// It is made again and again in the same memory.
type relief struct {
	width, height int
	shrink        float64 // pixels of the picture to one of this relief, along a side
	pix           []byte
	out           []int8 // empty until it is raised

	looks int // that climbing took, and nobody has counted yet

	across, down  int     // blocks, where they were measured
	sums, squares []int32 // of each block
	own           []byte  // of pix, where it is not the picture's
}

const (
	// block is the side, in pixels, of the squares that are looked at as one, and
	// around how many of them on every side make what a pixel is compared with: 40
	// pixels across, some seven modules and more at the size that is looked for.
	blockSide, around = 8, 2
	// soften is added to the difference, so that the noise of an even wall stays small
	// (found by trial, no source).
	soften = 6
)

// counted gives the looks that nobody has counted yet.
func (r *relief) counted() int {
	n := r.looks
	r.looks = 0
	return n
}

// reset takes a picture's brightness as it is, and does not change it.
func (r *relief) reset(p plane) {
	r.width, r.height, r.shrink, r.pix, r.looks = p.width, p.height, 1, p.pix, 0
	r.out = r.out[:0]
}

// halve makes r half the size of a larger one, each pixel the mean of four.
func (r *relief) halve(of *relief) {
	r.width, r.height, r.shrink, r.looks = of.width/2, of.height/2, of.shrink*2, 0
	r.own = grown(r.own, r.width*r.height)
	r.pix = r.own
	for y := range r.height {
		above := of.pix[2*y*of.width:][:2*r.width]
		below := of.pix[(2*y+1)*of.width:][:2*r.width]
		out := r.pix[y*r.width:][:r.width]
		for x := range out {
			a, b := above[2*x:2*x+2:2*x+2], below[2*x:2*x+2:2*x+2]
			out[x] = byte((uint(a[0]) + uint(a[1]) + uint(b[0]) + uint(b[1]) + 2) / 4)
		}
	}
	r.out = r.out[:0]
}

// grown is a slice of n, the same memory where that is enough.
func grown[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

// raise makes out, once, by what is measured of its own blocks; or, where coarser is
// the same picture at half the size and was measured, by that: then what lies in
// even places is left at 0, since the coarser one shows it as well and most of a
// picture is such.
func (r *relief) raise(coarser *relief) {
	if len(r.out) > 0 || r.width < blockSide || r.height < blockSide {
		return
	}
	r.out = grown(r.out, r.width*r.height)
	if coarser != nil && len(coarser.out) > 0 {
		r.fill(coarser, 2*blockSide, 1, coarser.evenness())
		return
	}
	r.across, r.down = r.width/blockSide, r.height/blockSide // what is left over goes with the last ones
	r.sums, r.squares = grown(r.sums, r.across*r.down), grown(r.squares, r.across*r.down)
	r.measure(r.across, r.down)
	r.fill(r, blockSide, around, 0)
}

// spread is the mean brightness around a block, and how much it differs.
func (r *relief) spread(bx, by, around int) (mean, spread float64) {
	y0, y1, x0, x1 := max(by-around, 0), min(by+around, r.down-1), max(bx-around, 0), min(bx+around, r.across-1)
	sum, square := int32(0), int32(0)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			sum += r.sums[y*r.across+x]
			square += r.squares[y*r.across+x]
		}
	}
	n := float64((y1-y0+1)*(x1-x0+1)) * blockSide * blockSide
	mean = float64(sum) / n
	return mean, math.Sqrt(max(float64(square)/n-mean*mean, 0))
}

// evenness is what a spread must exceed not to be a wall and the camera's noise: twice,
// about, that of the evenest fifth of the picture, within bounds (found by trial, no
// source).
func (r *relief) evenness() float64 {
	const least, most = 6, 14
	var counts [64]int
	for by := range r.down {
		for bx := range r.across {
			_, spread := r.spread(bx, by, 1)
			counts[min(int(spread), 63)]++
		}
	}
	below, floor := 0, 0
	for below*5 < r.across*r.down && floor < 63 {
		below += counts[floor]
		floor++
	}
	return min(max(1.8*float64(floor), least), most)
}

// fill makes out by the blocks that were measured in of, each so many pixels of r.
func (r *relief) fill(of *relief, side, around int, even float64) {
	for by := range of.down {
		top, bottom := by*side, (by+1)*side
		if by == of.down-1 {
			bottom = r.height
		}
		for bx := range of.across {
			left, right := bx*side, (bx+1)*side
			if bx == of.across-1 {
				right = r.width
			}
			mean, spread := of.spread(bx, by, around)
			gain := int32(64 * 256 / (spread + soften))
			base := int32(mean * float64(gain))
			for y := top; y < bottom; y++ {
				pix, out := r.pix[y*r.width+left:y*r.width+right], r.out[y*r.width+left:y*r.width+right]
				if spread < even {
					clear(out)
					continue
				}
				out = out[:len(pix)]
				for i, v := range pix {
					out[i] = int8(min(max((int32(v)*gain-base)>>8, -127), 127))
				}
			}
		}
	}
}

// measure adds up each block: brightness, and its square.
func (r *relief) measure(across, down int) {
	for by := range down {
		sums, squares := r.sums[by*across:][:across], r.squares[by*across:][:across]
		for i := range sums {
			sums[i], squares[i] = 0, 0
		}
		for y := by * blockSide; y < (by+1)*blockSide; y++ {
			row := r.pix[y*r.width:][:across*blockSide]
			for bx := range sums {
				eight := row[bx*blockSide:][:blockSide:blockSide]
				sum, square := int32(0), int32(0)
				for _, v := range eight {
					sum += int32(v)
					square += int32(v) * int32(v)
				}
				sums[bx] += sum
				squares[bx] += square
			}
		}
	}
}

// at is how far the relief stands out at a place, in pixels of this relief from its
// top left corner, drawn straight between the middles of pixels. Outside it is 0.
func (r *relief) at(x, y float64) int {
	if !(x >= 0.5 && y >= 0.5) { // nor for NaN
		return 0
	}
	fx, fy := int(x*64)-32, int(y*64)-32
	ix, iy := fx>>6, fy>>6
	if ix >= r.width-1 || iy >= r.height-1 {
		return 0
	}
	fx, fy = fx&63, fy&63
	i := iy*r.width + ix
	above, below := r.out[i:i+2:i+2], r.out[i+r.width:i+r.width+2:i+r.width+2]
	return ((int(above[0])*(64-fx)+int(above[1])*fx)*(64-fy) + (int(below[0])*(64-fx)+int(below[1])*fx)*fy) >> 12
}
