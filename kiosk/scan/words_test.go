package scan

import (
	"errors"
	"image"
	"math/rand/v2"
	"testing"

	qrencode "github.com/skip2/go-qrcode"
	"pgregory.net/rapid"
)

// TestAGridReadsRightOrNotAtAll turns over more and more modules of a tag's grid, some
// of them looking sure and some not: what is read is what was written.
func TestAGridReadsRightOrNotAtAll(t *testing.T) {
	q, err := qrencode.NewWithForcedVersion(tagText, 5, qrencode.Highest)
	if err != nil {
		t.Fatal(err)
	}
	q.DisableBorder = true
	rows := q.Bitmap()
	p, err := patternOf(5)
	if err != nil {
		t.Fatal(err)
	}
	var w wording
	rapid.Check(t, func(t *rapid.T) {
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "modules"), 0))
		share := rapid.Float64Range(0, 0.5).Draw(t, "share")
		s := sampled{modules: 37, soft: make([]soft, 37*37)}
		for y, row := range rows {
			for x, dark := range row {
				v := soft(20 + random.IntN(100))
				if dark {
					v = -v
				}
				if random.Float64() < share {
					v = -v / soft(1+random.IntN(4))
				}
				s.soft[y*37+x] = v
			}
		}
		for _, how := range s.writings(nil) {
			at := s.at
			if how.mirrored {
				at = s.turnedOver
			}
			text, ok := w.read(p, how, at, true)
			if ok && text != tagText {
				t.Fatalf("read %q", text)
			}
			if !ok && share == 0 {
				t.Fatal("a grid without fault does not read")
			}
			if ok || share == 0 {
				return
			}
		}
	})
}

// FuzzGlance takes any frame: a Problem, or a text.
func FuzzGlance(f *testing.F) {
	m, _ := worn(f, rand.New(rand.NewPCG(5, 6)), 3)
	seeds := [][]byte{{}, {0, 255}, m.Pix[100*480 : 300*480], m.Pix}
	if len(seeds) != 4 {
		f.Fatal("a seed is missing")
	}
	for i, s := range seeds {
		f.Add(s, uint16(480), i)
	}
	f.Fuzz(func(t *testing.T, pix []byte, width uint16, turn int) {
		w := max(int(width)%1024, 1)
		h := min(len(pix)/w, 1024)
		m := &image.Gray{Pix: pix[:w*h], Stride: w, Rect: image.Rect(0, 0, w, h)}
		s, err := Glance(m, turn)
		var p Problem
		if err != nil && (!errors.As(err, &p) || p == DamagedImage || s.Text() != "") {
			t.Errorf("%q, %v", s.Text(), err)
		}
		if err == nil && s.Text() == "" {
			t.Error("no text and no problem")
		}
		if err == nil && s.Grid().Modules() != s.Modules() {
			t.Error("no grid")
		}
	})
}
