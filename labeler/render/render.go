// Package render writes a laid-out tag as PDF, SVG or PNG. The three writers
// draw the same list, a [sheet.Drawing], and decide nothing about it, so that
// what was proofed on a screen is what comes out of the printer or the laser.
//
// [SVG] and [PNG] write one tag; a [PDF] takes tags one by one, a page each.
// In all three the page is the blank. The symbol is one area without inner
// edges, so that no smoothing leaves light seams between its modules. Output
// depends on nothing but the drawing: the same tags give the same bytes.
package render

import (
	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
)

// Options say what is drawn besides the ink. The zero Options draw the ink
// only.
type Options struct {
	// Outline draws the edge of the blank and of its hole as hairlines, for a
	// proof on paper or to line up a laser.
	Outline bool
}

// corners returns the symbol's outlines in micrometres of the drawing.
func corners(s sheet.Symbol) [][]sheet.Point {
	var all [][]sheet.Point
	for _, outline := range s.Contours() {
		var points []sheet.Point
		for _, c := range outline {
			points = append(points, sheet.Point{
				X: s.At.X + quantity.Length(c.X)*s.Module,
				Y: s.At.Y + quantity.Length(c.Y)*s.Module,
			})
		}
		all = append(all, points)
	}
	return all
}
