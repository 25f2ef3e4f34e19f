package scan

import (
	"math"
	"testing"

	qrencode "github.com/skip2/go-qrcode"
)

func TestLocateFlat(t *testing.T) {
	for _, scale := range []int{2, 3, 5, 12, 45} {
		s, err := Locate(encodePNG(t, symbol(t, tagText, 5, qrencode.Highest, scale)))
		if err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		for _, c := range []point{{0, 0}, {37, 0}, {0, 37}, {37, 37}, {18.5, 18.5}} {
			x, y := s.At(c.x, c.y)
			worst = max(worst, math.Hypot(x/float64(scale)-4-c.x, y/float64(scale)-4-c.y))
		}
		t.Logf("scale %d: worst %.4f modules", scale, worst)
		if worst > 0.05 {
			t.Errorf("scale %d: off by %.3f", scale, worst)
		}
	}
}
