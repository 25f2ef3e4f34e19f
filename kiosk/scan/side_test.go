package scan

import (
	"context"
	"math"
	"testing"

	qrencode "github.com/skip2/go-qrcode"
)

// TestReadFromTheSide: a tag is read that is seen so far from the side that one way it is
// less than half as long as the other, whichever way that lies on it.
func TestReadFromTheSide(t *testing.T) {
	const text, width, height, size = "A TAG THAT IS SEEN FROM THE SIDE 0123456789", 640, 480, 8
	q, err := qrencode.NewWithForcedVersion(text, 5, qrencode.Highest)
	if err != nil {
		t.Fatal(err)
	}
	modules := q.Bitmap()
	half := float64(len(modules)) / 2
	for _, narrow := range []float64{0.8, 0.5} {
		for _, turn := range []float64{0, 0.4, 0.8} {
			sin, cos := math.Sincos(turn)
			p := plane{width: width, height: height, pix: make([]byte, width*height)}
			for i := range p.pix {
				sum := 0
				for _, d := range [...]point{{0.25, 0.25}, {0.75, 0.25}, {0.25, 0.75}, {0.75, 0.75}} {
					x, y := (float64(i%width)+d.x-width/2)/size/narrow, (float64(i/width)+d.y-height/2)/size
					column, row := int(math.Floor(x*cos+y*sin+half)), int(math.Floor(y*cos-x*sin+half))
					if column >= 0 && row >= 0 && column < len(modules) && row < len(modules) && modules[row][column] {
						sum += 30
					} else {
						sum += 225
					}
				}
				p.pix[i] = byte(sum / 4)
			}
			if s, _, err := find(context.Background(), p, frameEffort, 0); err != nil || s.text != text {
				t.Errorf("%v as wide, turned by %v: %q, %v", narrow, turn, s.text, err)
			}
		}
	}
}
