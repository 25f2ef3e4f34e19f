package worn

import (
	"math"
	"math/rand/v2"

	"cribgate/labeler/symbol"
)

// scuff is everyday wear: many fine scratches that run nearly one way, a polished
// patch where the plate rubs, and crumbs of dirt.
func (l *label) scuff(r *rand.Rand, amount float64) {
	way := between(r, 0, math.Pi)
	for range int(110 * amount) {
		u, v := between(r, -1.3, 1.3)*half, between(r, -1.3, 1.3)*half
		a, length := way+0.25*r.NormFloat64(), between(r, 4, 30)
		x0, y0 := l.place(u, v)
		x1, y1 := l.place(u+length*math.Cos(a), v+length*math.Sin(a))
		l.face.stroke(x0, y0, x1, y1, l.dots*between(r, 0.08, 0.15+0.4*amount), float32(between(r, 0.15, 0.8)), float32(between(r, 0.4, 1)))
	}
	for range int(70 * amount) {
		x, y := l.place(between(r, -1.2, 1.2)*half, between(r, -1.2, 1.2)*half)
		l.face.stroke(x, y, x+1, y+1, l.dots*between(r, 0.3, 0.6+0.9*amount), float32(between(r, 0.03, 0.3)), 0.9)
	}
	u, v, size := between(r, -0.7, 0.7)*half, between(r, -0.7, 0.7)*half, between(r, 0.4, 0.9)*half
	x, y := l.place(u, v)
	grain, reach := clouds(r, l.face.w, l.face.h, 2.2*l.dots, 2.2*l.dots), size*l.dots
	l.face.over(x-reach, y-reach, x+reach, y+reach, func(ix, iy int, px, py float64) {
		d := math.Hypot(px-x, py-y) / reach
		rubbed := (1 - d) * (0.5 + 0.7*float64(grain.pix[iy*grain.w+ix]))
		l.face.mix(ix, iy, 0.5, float32(1.5*amount*rubbed))
	})
}

// paint is spatter from one side: a few large drops, many small ones, with tails.
func (l *label) paint(r *rand.Rand, amount float64) {
	shade := []float32{0.03, 0.75, 0.2, 0.9}[r.IntN(4)]
	from := between(r, 0, 2*math.Pi)
	sin, cos := math.Sincos(from)
	for range int(18 + 120*amount) {
		// Sizes spread over decades, as in any spray.
		size := (0.22 + 0.55*amount) * math.Exp(0.75*r.NormFloat64())
		size = min(size, 1.2+3.6*amount)
		u, v := between(r, -1.2, 1.2)*half, between(r, -1.2, 1.2)*half
		tail := size * between(r, 0, 2.2)
		x0, y0 := l.place(u, v)
		x1, y1 := l.place(u+tail*cos, v+tail*sin)
		l.face.stroke(x0, y0, x0+0.3*(x1-x0), y0+0.3*(y1-y0), 2*size*l.dots, shade, 0.97)
		l.face.stroke(x0, y0, x1, y1, size*l.dots, shade, 0.97)
	}
}

// rust runs down from the edge and from pits in streaks that fray, and eats pits
// around them.
func (l *label) rust(r *rand.Rand, amount float64) {
	down := between(r, -0.5, 0.5) + float64(r.IntN(4))*math.Pi/2
	sin, cos := math.Sincos(down)
	fray := clouds(r, l.face.w, l.face.h, 1.1*l.dots, 1.1*l.dots)
	for range 2 + int(11*amount) {
		side, begin := between(r, -1.1, 1.1)*half, between(r, -1.4, 0.3)*half
		width := between(r, 0.5, 1) * (0.7 + 2.9*amount)
		length := between(r, 0.5, 1.7) * half
		drift, dark := 0.0, between(r, 0.55, 1)
		for s := 0.0; s < length; s += 0.4 {
			drift += 0.14 * r.NormFloat64()
			x, y := l.place((begin+s)*cos-(side+drift)*sin, (begin+s)*sin+(side+drift)*cos)
			reach := width * (1 - 0.6*s/length) * l.dots
			l.face.over(x-reach, y-reach, x+reach, y+reach, func(ix, iy int, px, py float64) {
				d := math.Hypot(px-x, py-y) / reach
				if rough := 1 - d + 0.7*float64(fray.pix[iy*fray.w+ix]); rough > 0 {
					l.face.mix(ix, iy, 0.07, float32(rough*dark*0.45))
				}
			})
			if r.Float64() < 0.25*amount {
				px, py := x+2*reach*r.NormFloat64(), y+2*reach*r.NormFloat64()
				l.face.stroke(px, py, px+1, py, l.dots*between(r, 0.3, 0.6+1.2*amount), 0.05, 0.95)
			}
		}
	}
}

// tear takes a corner of the blank off along a ragged line, as far as the symbol and
// into it; what is left curls and shows its bright edge.
func (l *label) tear(r *rand.Rand, amount float64) {
	a := math.Pi/4 + float64(r.IntN(4))*math.Pi/2 + between(r, -0.5, 0.5)
	sin, cos := math.Sincos(a)
	// How far the symbol reaches that way, and how much of that goes.
	reach := half * (math.Abs(sin) + math.Abs(cos))
	left := reach * (1.04 - 0.66*amount)
	ragged := clouds(r, 2000, 2, 18, 1)
	l.face.over(0, 0, float64(l.face.w), float64(l.face.h), func(ix, iy int, x, y float64) {
		u, v := (x-l.cx)/l.dots, (y-l.cy)/l.dots
		line := min(max(1000+8*(v*cos-u*sin), 0), 1999)
		edge := left + 1.6*float64(ragged.pix[int(line)]) - (u*cos + v*sin)
		switch {
		case edge < 0:
			l.cover.pix[iy*l.cover.w+ix] = 0
		case edge < 0.5:
			l.face.mix(ix, iy, 0.9, 0.8)
		case edge < 2.5:
			l.face.mix(ix, iy, 0.5, float32(0.5*(2.5-edge)/2))
		}
	})
}

// hide covers the same share of the symbol's area from one corner on, for readers
// that know what the symbol would be.
func (l *label) hide(r *rand.Rand, share float64) {
	a := math.Pi/4 + float64(r.IntN(4))*math.Pi/2
	sin, cos := math.Sincos(a)
	// A triangle of the corner: share × side² = depth².
	left := half*math.Sqrt2 - symbol.Modules*math.Sqrt(share)
	l.face.over(0, 0, float64(l.face.w), float64(l.face.h), func(ix, iy int, x, y float64) {
		if u, v := (x-l.cx)/l.dots, (y-l.cy)/l.dots; u*cos+v*sin > left {
			l.face.mix(ix, iy, 0.12, 1)
		}
	})
}

// wet puts drops of water on the face: each is a lens that shows the print shifted,
// with a dark rim and the lamp in it.
func (l *label) wet(r *rand.Rand, amount float64) {
	dry := &plane{w: l.face.w, h: l.face.h, pix: append([]float32(nil), l.face.pix...)}
	for range int(14 + 75*amount) {
		x, y := l.place(between(r, -1.2, 1.2)*half, between(r, -1.2, 1.2)*half)
		size := min(math.Exp(0.5*r.NormFloat64())*(0.5+1.1*amount), 4.5) * l.dots
		l.face.over(x-size, y-size, x+size, y+size, func(ix, iy int, px, py float64) {
			d := math.Hypot(px-x, py-y) / size
			if d >= 1 {
				return
			}
			pull := 1 - 0.55*(1-d*d)
			v := dry.at(x+(px-x)*pull, y+(py-y)*pull) * float32(0.92-0.4*d*d*d*d)
			l.face.mix(ix, iy, v, 1)
			if lamp := math.Hypot(px-x+0.35*size, py-y+0.4*size) / size; lamp < 0.27 {
				l.face.mix(ix, iy, 2.5, 0.95)
			}
		})
	}
}
