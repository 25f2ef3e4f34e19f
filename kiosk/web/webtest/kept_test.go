package webtest

import (
	"image"
	"image/color"
	"image/draw"
	"testing"
)

func page(height int, marks ...image.Rectangle) image.Image {
	m := image.NewGray(image.Rect(0, 0, 390, height))
	draw.Draw(m, m.Bounds(), image.White, image.Point{}, draw.Src)
	for _, r := range marks {
		draw.Draw(m, r, image.NewUniform(color.Gray{Y: 20}), image.Point{}, draw.Src)
	}
	return m
}

func TestDiffers(t *testing.T) {
	plate := image.Rect(16, 16, 374, 300)
	kept := page(844, plate)
	for _, c := range []struct {
		name  string
		now   image.Image
		alike bool
	}{
		{"the same", page(844, plate), true},
		{"a few letters", page(844, plate, image.Rect(40, 400, 60, 416)), true},
		{"a little longer", page(880, plate), true},
		{"much longer", page(1000, plate), false},
		{"the plate gone", page(844), false},
		{"the plate moved", page(844, plate.Add(image.Pt(0, 200))), false},
		{"another width", image.NewGray(image.Rect(0, 0, 1280, 844)), false},
	} {
		if why := differs(kept, c.now); (why == "") != c.alike {
			t.Errorf("%s: %q", c.name, why)
		}
	}
}
