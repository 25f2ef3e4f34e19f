package worn

import (
	"math"
	"math/rand/v2"
)

// A plane is light, row by row, in shares of what a white sheet sends back; more
// than 1 is glare.
type plane struct {
	w, h int
	pix  []float32
}

func newPlane(w, h int) *plane { return &plane{w: w, h: h, pix: make([]float32, w*h)} }

// at is the light at a place, drawn straight between the middles of the pixels and
// going on at the edge.
func (p *plane) at(x, y float64) float32 {
	x, y = min(max(x-0.5, 0), float64(p.w)-1.001), min(max(y-0.5, 0), float64(p.h)-1.001)
	ix, iy := int(x), int(y)
	fx, fy := float32(x-float64(ix)), float32(y-float64(iy))
	i := iy*p.w + ix
	top := p.pix[i] + (p.pix[i+1]-p.pix[i])*fx
	low := p.pix[i+p.w] + (p.pix[i+p.w+1]-p.pix[i+p.w])*fx
	return top + (low-top)*fy
}

// mix lets v show through to a share at a pixel that is there.
func (p *plane) mix(x, y int, v, share float32) {
	if x >= 0 && y >= 0 && x < p.w && y < p.h {
		q := &p.pix[y*p.w+x]
		*q += (v - *q) * min(max(share, 0), 1)
	}
}

// over calls f with each pixel of a box, cut to the plane, and the place of its middle.
func (p *plane) over(x0, y0, x1, y1 float64, f func(ix, iy int, x, y float64)) {
	for iy := max(0, int(y0)); iy < min(p.h, int(y1)+1); iy++ {
		for ix := max(0, int(x0)); ix < min(p.w, int(x1)+1); ix++ {
			f(ix, iy, float64(ix)+0.5, float64(iy)+0.5)
		}
	}
}

// stroke draws a line with round ends; width and v may change along it.
func (p *plane) stroke(x0, y0, x1, y1, width float64, v, share float32) {
	r := width/2 + 1
	dx, dy := x1-x0, y1-y0
	length := max(dx*dx+dy*dy, 1e-9)
	p.over(min(x0, x1)-r, min(y0, y1)-r, max(x0, x1)+r, max(y0, y1)+r, func(ix, iy int, x, y float64) {
		t := min(max(((x-x0)*dx+(y-y0)*dy)/length, 0), 1)
		d := math.Hypot(x-x0-t*dx, y-y0-t*dy)
		if cover := width/2 + 0.5 - d; cover > 0 {
			p.mix(ix, iy, v, share*float32(min(cover, 1)))
		}
	})
}

// blur spreads each pixel as a lens out of focus does, here by the bell curve.
func (p *plane) blur(sigma float64) {
	if sigma < 0.2 {
		return
	}
	r := int(math.Ceil(2.7 * sigma))
	weights := make([]float32, 2*r+1)
	var sum float32
	for i := range weights {
		d := float64(i - r)
		weights[i] = float32(math.Exp(-d * d / (2 * sigma * sigma)))
		sum += weights[i]
	}
	for i := range weights {
		weights[i] /= sum
	}
	row := make([]float32, p.w+2*r)
	for y := range p.h {
		line := p.pix[y*p.w : (y+1)*p.w]
		copy(row[r:], line)
		for i := range r {
			row[i], row[r+p.w+i] = line[0], line[p.w-1]
		}
		for x := range line {
			var v float32
			for i, w := range weights {
				v += w * row[x+i]
			}
			line[x] = v
		}
	}
	out := make([]float32, len(p.pix))
	for y := range p.h {
		line := out[y*p.w : (y+1)*p.w]
		for i, w := range weights {
			from := p.pix[min(max(y+i-r, 0), p.h-1)*p.w:][:p.w]
			for x, v := range from {
				line[x] += w * v
			}
		}
	}
	p.pix = out
}

// clouds is smooth chance between -1 and 1: a value at each corner of cells that are
// cx wide and cy high, and a smooth way from one to the next.
func clouds(r *rand.Rand, w, h int, cx, cy float64) *plane {
	cols, rows := int(float64(w)/cx)+2, int(float64(h)/cy)+2
	grid := make([]float32, cols*rows)
	for i := range grid {
		grid[i] = 2*r.Float32() - 1
	}
	p := newPlane(w, h)
	for y := range h {
		gy, fy := cell(float64(y) / cy)
		a, b := grid[gy*cols:], grid[(gy+1)*cols:]
		for x := range w {
			gx, fx := cell(float64(x) / cx)
			top, low := a[gx]+(a[gx+1]-a[gx])*fx, b[gx]+(b[gx+1]-b[gx])*fx
			p.pix[y*w+x] = top + (low-top)*fy
		}
	}
	return p
}

// cell splits a place into the cell and the share of the way through it, eased.
func cell(v float64) (int, float32) {
	i := int(v)
	f := float32(v - float64(i))
	return i, f * f * (3 - 2*f)
}

// between draws from a range.
func between(r *rand.Rand, least, most float64) float64 { return least + (most-least)*r.Float64() }
