package render_test

import (
	"image"
	"image/draw"
	_ "image/png"
	"os"
	"testing"
)

// A picture is an image in shades of grey.
type picture struct{ *image.Gray }

func load(t *testing.T, path string) picture {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, _, err := image.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	grey := image.NewGray(img.Bounds())
	draw.Draw(grey, grey.Bounds(), img, img.Bounds().Min, draw.Src)
	return picture{grey}
}

// dark tells ink, of either colour, from paper.
func (p picture) dark(x, y int) bool {
	return (image.Point{X: x, Y: y}.In(p.Rect)) && p.GrayAt(x, y).Y < 0xc0
}

// without counts the dark dots that have no dark dot near them in another
// picture.
func (p picture) without(other picture, near int) (n int) {
	for y := range p.Rect.Dy() {
		for x := range p.Rect.Dx() {
			if p.dark(x, y) && !other.darkNear(x, y, near) {
				n++
			}
		}
	}
	return n
}

// darkNear looks around a dot, nearest rings first.
func (p picture) darkNear(x, y, most int) bool {
	for r := 0; r <= most; r++ {
		for i := -r; i <= r; i++ {
			if p.dark(x+i, y-r) || p.dark(x+i, y+r) || p.dark(x-r, y+i) || p.dark(x+r, y+i) {
				return true
			}
		}
	}
	return false
}
