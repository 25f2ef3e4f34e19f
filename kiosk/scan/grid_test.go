package scan

import (
	"image"
	"testing"

	qrencode "github.com/skip2/go-qrcode"
)

// TestGridIsTheSymbol: a clean symbol's grid is its modules, however it lies.
func TestGridIsTheSymbol(t *testing.T) {
	q, err := qrencode.NewWithForcedVersion(tagText, 5, qrencode.Highest)
	if err != nil {
		t.Fatal(err)
	}
	q.DisableBorder = true
	want := q.Bitmap()
	grid := through(corners, [4]point{{60, 50}, {250, 50}, {250, 240}, {60, 240}})
	for name, m := range map[string]*image.Gray{
		"dark on light": shown(t, grid, 360, 400),
		"light on dark": {Pix: brightness(shown(t, grid, 360, 400)).inverted().pix, Stride: 360, Rect: image.Rect(0, 0, 360, 400)},
	} {
		s, grids, err := NewReader(1).Lay(t.Context(), m)
		if err != nil || len(grids) != 1 || s.Text() != tagText {
			t.Fatalf("%s: %q, %d grids, %v", name, s.Text(), len(grids), err)
		}
		g := grids[0]
		if g.Modules() != len(want) {
			t.Fatalf("%s: %d modules", name, g.Modules())
		}
		for y := range want {
			for x := range want {
				if g.Dark(x, y) != want[y][x] || !g.Known(x, y) {
					t.Errorf("%s: module %d, %d: light %d", name, x, y, g.Light(x, y))
				}
			}
		}
	}
	var zero Grid
	if zero.Modules() != 0 || zero.Dark(0, 0) || zero.Known(0, 0) {
		t.Error("the zero grid says something")
	}
}
