package scan

const (
	// small is the longest side, in pixels, of a picture that is looked at enlarged as
	// well, and tiny of one that is enlarged more: there a module may be one pixel,
	// and the symbol may fill all of it.
	small, tiny = 500, 250
	// frame is how many white pixels of the picture are put around: five modules of a
	// pixel.
	frame = 5
)

// enlargement is how many times larger a picture is looked at.
func (p plane) enlargement() int {
	if max(p.width, p.height) <= tiny {
		return 4
	}
	return 2
}

// enlarge makes a picture larger, drawn straight between the middles of its pixels,
// with white around it.
func (s *search) enlarge(p plane) plane {
	enlargement := p.enlargement()
	e := plane{width: (p.width + 2*frame) * enlargement, height: (p.height + 2*frame) * enlargement}
	s.enlarged = grown(s.enlarged, e.width*e.height)
	e.pix = s.enlarged
	pixel := func(x, y int) int {
		if x < 0 || y < 0 || x >= p.width || y >= p.height {
			return 255
		}
		return int(p.pix[y*p.width+x])
	}
	for y := range e.height {
		// In halves of an enlarged pixel, from the middle of the first of the picture.
		v := 2*y + 1 - enlargement - 2*frame*enlargement
		y0, fy := floorDiv(v, 2*enlargement)
		for x := range e.width {
			u := 2*x + 1 - enlargement - 2*frame*enlargement
			x0, fx := floorDiv(u, 2*enlargement)
			above := pixel(x0, y0)*(2*enlargement-fx) + pixel(x0+1, y0)*fx
			below := pixel(x0, y0+1)*(2*enlargement-fx) + pixel(x0+1, y0+1)*fx
			e.pix[y*e.width+x] = byte((above*(2*enlargement-fy) + below*fy) / (4 * enlargement * enlargement))
		}
	}
	return e
}

// floorDiv divides by a positive number, downward, and gives what is left over.
func floorDiv(a, by int) (quotient, rest int) {
	quotient, rest = a/by, a%by
	if rest < 0 {
		quotient, rest = quotient-1, rest+by
	}
	return quotient, rest
}

// reduced takes places in the enlarged picture to the picture itself.
func (p plane) reduced(grid projection) projection {
	k := 1 / float64(p.enlargement())
	return projection{{k, 0, -frame}, {0, k, -frame}, {0, 0, 1}}.after(grid)
}
