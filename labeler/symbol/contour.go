package symbol

// A Corner is a corner of a module, counted in modules from the top left of
// the grid without its quiet zone.
type Corner struct{ X, Y int }

// Contours returns the closed outlines of the dark areas. Dark lies to the
// right of the way along each outline (with y downward), so an outline runs
// clockwise around dark and anticlockwise around a light area inside it: both
// usual fill rules give the grid. Areas that touch at a corner only stay
// apart. No edge lies between two dark modules, so that neither a screen's
// smoothing nor a laser finds a seam there.
func (s Symbol) Contours() [][]Corner {
	// An outline is found at its top edges, so only those are remembered.
	var seen [Modules][Modules]bool
	var all [][]Corner
	for y := range Modules {
		for x := range Modules {
			if s.Dark(x, y) && !s.Dark(x, y-1) && !seen[y][x] {
				all = append(all, s.trace(x, y, &seen))
			}
		}
	}
	return all
}

// trace follows the outline that begins along the top edge of the module in
// column x and row y and marks each top edge that it passes.
func (s Symbol) trace(x, y int, seen *[Modules][Modules]bool) []Corner {
	start := Corner{x, y}
	at, dx, dy := start, 1, 0
	var out []Corner
	for {
		if dx == 1 {
			seen[at.Y][at.X] = true
		}
		at = Corner{at.X + dx, at.Y + dy}
		// The two modules ahead, left and right of the way.
		ahead := func(rx, ry int) bool {
			return s.Dark(at.X+(dx+rx-1)/2, at.Y+(dy+ry-1)/2)
		}
		right := ahead(-dy, dx)
		left := ahead(dy, -dx)
		was := [2]int{dx, dy}
		switch {
		case !right:
			dx, dy = -dy, dx
		case left:
			dx, dy = dy, -dx
		}
		if was != [2]int{dx, dy} {
			out = append(out, at)
		}
		if at == start && dx == 1 {
			return out
		}
	}
}
