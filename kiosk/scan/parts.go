package scan

import "context"

// wide is the longer side, in pixels, from which a picture is looked at in parts where
// the whole shows nothing: in so large a one a tag may be small, and lie among more that
// looks like its finders than is looked at in a whole (site policy, no source: of 50 tags
// in pictures of 2,560 pixels that were three quarters printed matter the whole read 39, with
// parts 48; of 1,260 frames of 1,280 pixels the parts read one that the whole did not, and
// took five times as long).
const wide = 2400

// findSent looks for a symbol in a picture that was sent, of which there is no other: as a
// whole, and where that does not read and it is large, in windows of half its longer
// side, each half over its neighbours. The grids are those of the whole, then of the
// windows. It is not for live pictures: it takes as many looks as there are windows.
func findSent(ctx context.Context, p plane) (Sighting, []Grid, error) {
	seen, grids, err := find(ctx, p, fullEffort, 0)
	side := max(p.width, p.height) / 2
	if 2*side < wide || err != NoSymbol && err != DamagedSymbol {
		return seen, grids, err
	}
	for y := 0; y == 0 || y+side/2 < p.height; y += side / 2 {
		for x := 0; x == 0 || x+side/2 < p.width; x += side / 2 {
			move := projection{{1, 0, float64(x)}, {0, 1, float64(y)}, {0, 0, 1}}
			part, more, failed := find(ctx, p.part(x, y, side), fullEffort, 0)
			if ctx.Err() != nil {
				return Sighting{}, nil, failed
			}
			if failed == nil {
				part.picture, part.grid = p, move.after(part.grid)
				return part, nil, nil
			}
			for i := range more {
				more[i].move(move)
			}
			grids = append(grids, more...)
		}
	}
	return Sighting{}, grids, err
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
