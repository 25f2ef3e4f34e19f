package worn

import (
	"math"
	"math/rand/v2"
)

// ground is what a tag lies on or is held before: brushed steel, concrete or boards,
// and now and then links of a chain.
func ground(r *rand.Rand) *plane {
	base := float32(between(r, 0.08, 0.4))
	p := clouds(r, Width, Height, 260, 260)
	grain := clouds(r, Width, Height, [...]float64{90, 7, 260}[r.IntN(3)], [...]float64{3, 7, 30}[r.IntN(3)])
	for i := range p.pix {
		p.pix[i] = base * (1 + 0.4*p.pix[i] + 0.25*grain.pix[i])
	}
	for range r.IntN(4) {
		link(p, r)
	}
	return p
}

// link draws one link of a chain: a dark ring that is bright along its back.
func link(p *plane, r *rand.Rand) {
	x, y, a := between(r, 0, Width), between(r, 0, Height), between(r, 0, math.Pi)
	long, wide, thick := between(r, 60, 130), between(r, 30, 55), between(r, 14, 26)
	sin, cos := math.Sincos(a)
	p.over(x-long-thick, y-long-thick, x+long+thick, y+long+thick, func(ix, iy int, px, py float64) {
		u, v := (px-x)*cos+(py-y)*sin, (py-y)*cos-(px-x)*sin
		ring := math.Abs(math.Hypot(max(math.Abs(u)-long+wide, 0), v)-wide) / thick
		if ring < 1 {
			p.mix(ix, iy, float32(0.03+0.35*math.Pow(1-ring, 3)), 1)
		}
	})
}

// printed lays printed matter under and around the tag: lines of what looks like
// letters, bars, grids, and nested squares, which look like a symbol's corners.
func printed(p *plane, r *rand.Rand, amount float64) {
	for range 2 + int(7*amount) {
		sheet := matter(r)
		a, zoom := between(r, 0, 2*math.Pi), between(r, 0.7, 1.5)
		x, y := between(r, 200, Width-200), between(r, 100, Height-100)
		sin, cos := math.Sincos(a)
		reach := zoom * math.Hypot(float64(sheet.w), float64(sheet.h)) / 2
		p.over(x-reach, y-reach, x+reach, y+reach, func(ix, iy int, px, py float64) {
			u := ((px-x)*cos+(py-y)*sin)/zoom + float64(sheet.w)/2
			v := ((py-y)*cos-(px-x)*sin)/zoom + float64(sheet.h)/2
			if u > 1 && v > 1 && u < float64(sheet.w)-1 && v < float64(sheet.h)-1 {
				p.mix(ix, iy, sheet.at(u, v), 1)
			}
		})
	}
}

// matter is one piece of printed matter.
func matter(r *rand.Rand) *plane {
	p := newPlane(300+r.IntN(220), 200+r.IntN(200))
	for i := range p.pix {
		p.pix[i] = 0.7
	}
	box := func(x, y, w, h int, v float32) {
		p.over(float64(x), float64(y), float64(x+w-1), float64(y+h-1), func(ix, iy int, _, _ float64) { p.pix[iy*p.w+ix] = v })
	}
	switch size := 3 + r.IntN(6); r.IntN(4) {
	case 0: // letters: chance in cells of three by five
		for y := 20; y < p.h-20; y += 8 * size {
			for x := 20; x < p.w-20; x += 4 * size {
				for i := range 15 {
					if r.IntN(2) == 0 {
						box(x+i%3*size, y+i/3*size, size, size, 0.05)
					}
				}
			}
		}
	case 1: // bars
		for x := 20; x < p.w-20; {
			w := 2 + r.IntN(3*size)
			box(x, 20, w, p.h-40, 0.05)
			x += w + 2 + r.IntN(3*size)
		}
	case 2: // a grid of squares, as a symbol's inside has
		for y := 20; y < p.h-20; y += size {
			for x := 20; x < p.w-20; x += size {
				box(x, y, size, size, [...]float32{0.05, 0.7}[r.IntN(2)])
			}
		}
	default: // nested squares, 7, 5 and 3 wide
		for y := 10; y < p.h-7*size; y += 10 * size {
			for x := 10; x < p.w-7*size; x += 10 * size {
				for ring, v := range [...]float32{0.05, 0.7, 0.05} {
					box(x+ring*size, y+ring*size, (7-2*ring)*size, (7-2*ring)*size, v)
				}
			}
		}
	}
	return p
}

// thumb comes in from outside over a corner of the symbol, as wide as it must be to
// hide what amount asks for, round and shaded.
func thumb(p *plane, r *rand.Rand, at *pose, amount float64) {
	corner := r.IntN(4)
	su, sv := float64(2*(corner%2)-1), float64(corner/2*2-1)
	tilt := between(r, -0.4, 0.4)
	deep := half * (1.2 - 0.95*amount) // where its tip ends, from the middle
	tipX, tipY := at.frame(su*deep, sv*deep)
	outX, outY := at.frame(su*half*(2+tilt), sv*half*(2-tilt))
	sideX, sideY := at.frame(su*deep+sv*half*0.5, sv*deep-su*half*0.5)
	width := math.Hypot(sideX-tipX, sideY-tipY) * between(r, 0.9, 1.3)
	dx, dy := outX-tipX, outY-tipY
	length := math.Hypot(dx, dy)
	dx, dy = dx/length, dy/length
	outX, outY, length = outX+dx*1500, outY+dy*1500, length+1500
	// The middle of the round tip lies a width behind where the thumb ends.
	tipX, tipY, length = tipX+dx*width, tipY+dy*width, length-width
	skin := float32(between(r, 0.1, 0.55))
	pores := clouds(r, p.w, p.h, 3, 3)
	p.over(min(tipX, outX)-2*width, min(tipY, outY)-2*width, max(tipX, outX)+2*width, max(tipY, outY)+2*width, func(ix, iy int, x, y float64) {
		t := min(max((x-tipX)*dx+(y-tipY)*dy, 0), length)
		d := math.Hypot(x-tipX-t*dx, y-tipY-t*dy) / width
		switch {
		case d < 1:
			round := float32(math.Sqrt(1 - d*d))
			p.mix(ix, iy, skin*(0.35+0.65*round)*(1+0.08*pores.pix[iy*p.w+ix]), float32(min(1, (1-d)*width/1.5)))
		case d < 1.35: // its shadow
			p.pix[iy*p.w+ix] *= float32(0.6 + 0.4*(d-1)/0.35)
		}
	})
}

// glare is the lamp in a film of water: a frayed band across the symbol.
func glare(p *plane, r *rand.Rand, at *pose, amount float64) {
	x, y := at.frame(between(r, -0.7, 0.7)*half, between(r, -0.7, 0.7)*half)
	edgeX, edgeY := at.frame(half, 0)
	midX, midY := at.frame(0, 0)
	reach := math.Hypot(edgeX-midX, edgeY-midY)
	sin, cos := math.Sincos(between(r, 0, math.Pi))
	ripples := clouds(r, p.w, p.h, 26, 26)
	long, wide := reach*between(r, 0.8, 1.6), reach*(0.07+0.24*amount)
	p.over(x-2.5*long, y-2.5*long, x+2.5*long, y+2.5*long, func(ix, iy int, px, py float64) {
		u, v := ((px-x)*cos+(py-y)*sin)/long, ((py-y)*cos-(px-x)*sin)/wide
		g := math.Exp(-u*u-v*v) * (0.75 + 0.6*float64(ripples.pix[iy*p.w+ix]))
		p.pix[iy*p.w+ix] += float32((0.25 + 1.9*amount) * max(g, 0))
	})
	for i := range p.pix { // a film sends some of the room's light back everywhere
		p.pix[i] += float32(0.06 * amount)
	}
}
