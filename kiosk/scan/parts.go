package scan

import "context"

// wide is the longer side, in pixels, from which a picture is looked at in parts where
// the whole shows nothing: a tag on a printed sheet, or on a wall, has its finders among
// too much else (site policy, no source).
const wide = 1800

// findInParts looks for a symbol in windows of half the picture's longer side, each half
// over its neighbours. It is for pictures that were sent, not for live ones: it takes as
// many looks as there are windows.
func findInParts(ctx context.Context, p plane, effort int) (seen Sighting, found bool) {
	side := max(p.width, p.height) / 2
	if 2*side < wide {
		return Sighting{}, false
	}
	for y := 0; y == 0 || y+side/2 < p.height; y += side / 2 {
		for x := 0; x == 0 || x+side/2 < p.width; x += side / 2 {
			seen, _, err := find(ctx, p.part(x, y, side), effort, 0)
			if err == nil {
				seen.picture, seen.grid = p, projection{{1, 0, float64(x)}, {0, 1, float64(y)}, {0, 0, 1}}.after(seen.grid)
				return seen, true
			}
		}
	}
	return Sighting{}, false
}

// part is a square of the picture, cut off where that ends.
func (p plane) part(x, y, side int) plane {
	q := plane{width: min(side, p.width-x), height: min(side, p.height-y)}
	q.pix = make([]byte, 0, q.width*q.height)
	for row := y; row < y+q.height; row++ {
		q.pix = append(q.pix, p.pix[row*p.width+x:][:q.width]...)
	}
	return q
}
