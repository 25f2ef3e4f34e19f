package worn

import (
	"fmt"
	"image"

	"cribgate/labeler/symbol"
)

// seenAt is where in the frame a place on the tag is seen, in modules from the
// symbol's middle: along the bent metal, through the shutter.
func (p *pose) seenAt(u, v float64, s shake) (px, py float64) {
	x, y := u, v
	for range 4 { // along is hardly more than its argument
		x -= along(p.bend.across, x) - u
		y -= along(p.bend.down, y) - v
	}
	px, py = p.frame(x, y)
	py = (py + s.stretch*Height/2) / (1 + s.stretch)
	dx, _ := s.row(py)
	return px - dx, py
}

// possible tells whether error correction could mend what a plain look at the true
// place of each module makes of the frame, and what share of the modules is wrong:
// how much of the symbol is still there, whoever looks for it. It is no bound: who
// knows where light was lost, or what other tags there are, can read more.
func possible(m *image.Gray, text string, at *pose, s shake) (ok bool, wrong float64, err error) {
	sym, err := symbol.Encode(text)
	if err != nil {
		return false, 0, fmt.Errorf("worn: %w", err)
	}
	var light [symbol.Modules][symbol.Modules]float64
	for row := range symbol.Modules {
		for col := range symbol.Modules {
			for i := range 9 { // the inner part of the module
				u, v := float64(col)+0.5-half+0.2*float64(i%3-1), float64(row)+0.5-half+0.2*float64(i/3-1)
				x, y := at.seenAt(u, v, s)
				light[row][col] += float64(m.GrayAt(int(x), int(y)).Y) / 9
			}
		}
	}
	const around = 4 // modules that a threshold is taken over, each way
	missed := 0
	var dark [symbol.Modules][symbol.Modules]bool
	for row := range symbol.Modules {
		for col := range symbol.Modules {
			var sum, n float64
			for y := max(0, row-around); y <= min(symbol.Modules-1, row+around); y++ {
				for x := max(0, col-around); x <= min(symbol.Modules-1, col+around); x++ {
					sum += light[y][x]
					n++
				}
			}
			dark[row][col] = light[row][col] < sum/n
			if dark[row][col] != sym.Dark(col, row) {
				missed++
			}
		}
	}
	seen := symbol.Words(func(col, row int) bool { return dark[row][col] }, sym.Level(), sym.Mask())
	right := symbol.Words(sym.Dark, sym.Level(), sym.Mask())
	ok = true
	for i, block := range sym.Level().Blocks() {
		bad := 0
		for j := range right[i] {
			if seen[i][j] != right[i][j] {
				bad++
			}
		}
		ok = ok && 2*bad <= block.Correction
	}
	return ok, float64(missed) / (symbol.Modules * symbol.Modules), nil
}
