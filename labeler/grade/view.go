package grade

import (
	"math"

	"cribgate/labeler/symbol"
)

// A View is a picture in which a symbol was found and read. Places on the symbol
// are in modules from the outer corner of the finder at the top left, as the symbol
// is meant to be seen; places in the picture are in pixels.
type View interface {
	// Text is what was read.
	Text() string
	// Modules is the number of modules on each side.
	Modules() int
	// Inverted tells whether it was read as light on dark.
	Inverted() bool
	// At takes a place on the symbol, or near it in its plane, to the picture.
	At(x, y float64) (px, py float64)
	// Light is how much light the picture shows at a place in it, 0 black and 1
	// white, and NaN outside the picture.
	Light(px, py float64) float64
}

const (
	aperture = 0.8 // of a module's width: ISO/IEC 15415, from memory, not seen
	margin   = symbol.QuietZone
	side     = symbol.Modules + 2*margin
)

// cells are the means of the modules and of the margin's, by row and column, each
// counted from margin modules outside the symbol.
type cells [side][side]float64

// at is the cell of a module; columns and rows from −margin.
func (c *cells) at(column, row int) float64 { return c[row+margin][column+margin] }

// sample takes the mean light over a round aperture in each cell.
func sample(v View) *cells {
	const points = 7 // across
	type spot struct{ x, y float64 }
	var spots []spot
	for j := range points {
		for i := range points {
			p := spot{(float64(i)+0.5)/points - 0.5, (float64(j)+0.5)/points - 0.5}
			if math.Hypot(p.x, p.y) <= 0.5 {
				spots = append(spots, spot{0.5 + p.x*aperture, 0.5 + p.y*aperture})
			}
		}
	}
	c := new(cells)
	for row := range side {
		for column := range side {
			sum := 0.0
			for _, p := range spots {
				sum += v.Light(v.At(float64(column-margin)+p.x, float64(row-margin)+p.y))
			}
			c[row][column] = sum / float64(len(spots))
		}
	}
	return c
}

// cut tells whether a cell lies outside the picture, in whole or in part.
func (c *cells) cut() bool {
	for _, row := range c {
		for _, v := range row {
			if math.IsNaN(v) {
				return true
			}
		}
	}
	return false
}

// A surface is what the light in a picture says of the print: its reflectance, 1
// where it is as light as the light parts are, evened out where light falls off to
// one side, and turned over for light on dark.
type surface struct {
	View
	base, across, down float64 // light of the light parts: base + across × x + down × y
}

// lit is how the light parts are lit at a place on the symbol.
func (s surface) lit(x, y float64) float64 { return s.base + s.across*x + s.down*y }

// of makes reflectance of the light at a place on the symbol.
func (s surface) of(light, x, y float64) float64 {
	if s.Inverted() {
		return 1 - light/s.lit(x, y)
	}
	return light / s.lit(x, y)
}

// at is the reflectance at a place on the symbol, NaN outside the picture.
func (s surface) at(x, y float64) float64 { return s.of(s.Light(s.At(x, y)), x, y) }

// cells makes reflectances of sampled light.
func (s surface) cells(light *cells) *cells {
	c := new(cells)
	for row := range side {
		for column := range side {
			c[row][column] = s.of(light[row][column], float64(column-margin)+0.5, float64(row-margin)+0.5)
		}
	}
	return c
}
