package camera

import "image"

// A symbol that the reader does not find is still seen as a patch in which light and
// dark change quickly along rows and along columns. Half of its modules differ from
// their neighbour, so that how often it changes says how large they are seen, how
// much that differs between rows and columns says how much it leans, and how steep the
// changes are says whether it is sharp. Print and cloth look alike; whoever shows
// these reads at worst advice that does not fit.
const (
	cellSide   = 16   // pixels; a patch is made of such cells
	cellStep   = 4    // pixels from one row or column that is followed to the next
	contrast   = 40   // of 255, between light and dark in a cell
	changes    = 0.35 // least of a row, and of a column, of a cell
	patchLeast = 6    // cells
)

// A cell is what was counted in one square of the picture.
type cell struct {
	contrast   int
	rows, cols int // changes along those that were followed
	steep      float64
	busy       bool
}

// A patch is the largest group of busy cells. The zero value is none.
type patch struct {
	cells  int
	pixels float64 // to a module
	lean   float64 // changes along rows to those along columns, whichever are fewer on top; 1 from the front
	steep  float64 // mean height of a change within two pixels, 1 for all of the contrast
}

// findPatch looks at every fourth row and column.
func findPatch(m *image.Gray) patch {
	wide, high := m.Rect.Dx()/cellSide, m.Rect.Dy()/cellSide
	cells := make([]cell, wide*high)
	for i := range cells {
		cells[i].count(m, i%wide*cellSide, i/wide*cellSide)
	}
	var best []int
	for i := range cells {
		if group := take(cells, i, wide); len(group) > len(best) {
			best = group
		}
	}
	if len(best) < patchLeast {
		return patch{}
	}
	rows, cols, steep := 0, 0, 0.0
	for _, i := range best {
		rows += cells[i].rows
		cols += cells[i].cols
		steep += cells[i].steep
	}
	// Each cell follows cellSide/cellStep lines of cellSide pixels each way.
	along := float64(len(best) * cellSide / cellStep * cellSide)
	return patch{
		cells: len(best), pixels: along / float64(rows+cols), steep: steep / float64(rows+cols),
		lean: float64(min(rows, cols)) / float64(max(rows, cols)),
	}
}

// count follows rows and columns of the square at x, y.
func (c *cell) count(m *image.Gray, x, y int) {
	low, high := uint8(255), uint8(0)
	for j := 0; j < cellSide; j += cellStep {
		row := m.Pix[(y+j)*m.Stride+x : (y+j)*m.Stride+x+cellSide]
		for _, v := range row {
			low, high = min(low, v), max(high, v)
		}
	}
	c.contrast = int(high) - int(low)
	if c.contrast < contrast {
		return
	}
	middle := uint8((int(low) + int(high)) / 2)
	for j := 0; j < cellSide; j += cellStep {
		c.rows += c.follow(m.Pix, (y+j)*m.Stride+x, 1, middle)
		c.cols += c.follow(m.Pix, y*m.Stride+x+j, m.Stride, middle)
	}
	const least = changes * cellSide / cellStep
	c.busy = float64(c.rows) >= least && float64(c.cols) >= least
}

// follow counts the changes along one line.
func (c *cell) follow(pix []byte, at, step int, middle uint8) (n int) {
	for i := 1; i < cellSide-1; i++ {
		a, b := pix[at+i*step], pix[at+(i-1)*step]
		if (a > middle) == (b > middle) {
			continue
		}
		n++
		ahead := pix[at+(i+1)*step]
		c.steep += float64(max(ahead, b)-min(ahead, b)) / float64(c.contrast)
	}
	return n
}

// take gives the group of busy cells around one, and marks them as taken.
func take(cells []cell, from, wide int) (group []int) {
	if !cells[from].busy {
		return nil
	}
	cells[from].busy = false
	group = []int{from}
	for next := 0; next < len(group); next++ {
		i := group[next]
		for _, o := range [...]struct {
			at int
			ok bool
		}{{i - 1, i%wide > 0}, {i + 1, i%wide < wide-1}, {i - wide, i >= wide}, {i + wide, i+wide < len(cells)}} {
			if o.ok && cells[o.at].busy {
				cells[o.at].busy = false
				group = append(group, o.at)
			}
		}
	}
	return group
}
