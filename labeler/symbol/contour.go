package symbol

// A Corner is a corner of a module, counted in modules from the top left of
// the grid without its quiet zone.
type Corner struct{ X, Y int }

// framed is the grid within one light module all around, so that what lies
// beside a module can be asked everywhere. Row and column 1 are the first.
type framed [Modules + 2][Modules + 2]bool

// Contours returns the closed outlines of the dark areas. Dark lies to the
// right of the way along each outline (with y downward), so an outline runs
// clockwise around dark and anticlockwise around a light area inside it: both
// usual fill rules give the grid. Areas that touch at a corner only stay
// apart. No edge lies between two dark modules, so that neither a screen's
// smoothing nor a laser finds a seam there.
func (s Symbol) Contours() [][]Corner {
	var grid framed
	for y := range Modules {
		copy(grid[y+1][1:], s.dark[y][:])
	}
	// An outline is found at its top edges, so only those are remembered.
	var seen framed
	// A symbol has about five hundred corners. They lie in one piece of memory,
	// since this is done ten thousand times for one document.
	corners := make([]Corner, 0, 1024)
	var ends []int
	for y := 1; y <= Modules; y++ {
		for x := 1; x <= Modules; x++ {
			if grid[y][x] && !grid[y-1][x] && !seen[y][x] {
				corners = trace(corners, x, y, &grid, &seen)
				ends = append(ends, len(corners))
			}
		}
	}
	all := make([][]Corner, len(ends))
	from := 0
	for i, end := range ends {
		all[i] = corners[from:end:end]
		from = end
	}
	return all
}

// trace adds the outline that begins along the top edge of the module in column
// x and row y of the framed grid and marks each top edge that it passes.
func trace(out []Corner, x, y int, grid, seen *framed) []Corner {
	startX, startY := x, y
	dx, dy := 1, 0
	for {
		if dx == 1 {
			seen[y][x] = true
		}
		x, y = x+dx, y+dy
		// The two modules ahead, right and left of the way.
		right := grid[y+(dy+dx-1)/2][x+(dx-dy-1)/2]
		left := grid[y+(dy-dx-1)/2][x+(dx+dy-1)/2]
		switch {
		case !right:
			dx, dy = -dy, dx
			out = append(out, Corner{x - 1, y - 1})
		case left:
			dx, dy = dy, -dx
			out = append(out, Corner{x - 1, y - 1})
		}
		if x == startX && y == startY && dx == 1 {
			return out
		}
	}
}
