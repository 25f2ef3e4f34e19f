package sheet

import "cribgate/core/quantity"

// hairline is the width of the lines that show the blank.
const hairline = 100 * quantity.Micrometre

// blank outlines the blank, its hole and what is kept clear, just inside the
// metal.
func (l *layout) blank() {
	w, h := l.stock.Width, l.stock.Height
	if l.stock.Round {
		l.out.Blank = append(l.out.Blank, ring(pt(w/2, h/2), w/2, w/2-hairline))
		l.out.Cut = append(l.out.Cut, circle(pt(w/2, h/2), w/2))
	} else {
		l.out.Blank = append(l.out.Blank, frame(pt(0, 0), w, h, l.stock.Corner, hairline))
		var edge Path
		edge.rectangle(pt(0, 0), w, h, l.stock.Corner, false)
		l.out.Cut = append(l.out.Cut, edge)
	}
	if hole := l.stock.Hole; hole.Diameter > 0 {
		l.out.Blank = append(l.out.Blank, ring(hole.Centre, hole.Diameter/2+hairline, hole.Diameter/2))
		l.out.Cut = append(l.out.Cut, circle(hole.Centre, hole.Diameter/2))
	}
	for _, c := range l.stock.Clear {
		l.out.Blank = append(l.out.Blank, frame(c.At, c.Width, c.Height, 0, hairline))
	}
}
