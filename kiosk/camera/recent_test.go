package camera

import (
	"image"
	"image/color"
	"math/rand/v2"
	"testing"
	"time"

	"cribgate/kiosk/scan"
	"cribgate/labeler/symbol"
)

// unread is a frame with a symbol at a place that is too worn to be read, and the grids
// that were laid.
func unread(t *testing.T, r *rand.Rand, x, y int, turned bool) []scan.Grid {
	t.Helper()
	s, err := symbol.Encode("CDEFGHIJKLMNOPQRSTUVWXYZ234567ABCDEFGHIJKLMNOPQRSTUVWXYZ234567AB")
	if err != nil {
		t.Fatal(err)
	}
	const pixels = 6
	m := image.NewGray(image.Rect(0, 0, 640, 480))
	for i := range m.Pix {
		m.Pix[i] = 230
	}
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			_, data := symbol.CodewordOf(column, row)
			if s.Dark(column, row) == (data && r.IntN(4) == 0) {
				continue
			}
			c, d := column, row
			if turned {
				c, d = symbol.Modules-1-row, column
			}
			for i := range pixels * pixels {
				m.SetGray(x+pixels*c+i%pixels, y+pixels*d+i/pixels, color.Gray{Y: 30})
			}
		}
	}
	_, grids, err := scan.GlanceGrids(m, 0)
	if err == nil || len(grids) == 0 {
		t.Fatalf("%d grids, %v", len(grids), err)
	}
	return grids[:1]
}

// Grids of the last second that lie beside each other make a run, the newest first; what
// lies elsewhere or is turned belongs to none, and what is older is forgotten.
func TestRecent(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	now := time.Unix(1000, 0)
	var recent recent
	for i, step := range []struct {
		after  time.Duration
		x, y   int
		turned bool
		long   int // of the one run; 0: none
	}{
		{0, 60, 60, false, 0},
		{200 * time.Millisecond, 80, 70, false, 2},
		{200 * time.Millisecond, 100, 90, false, 3},
		{200 * time.Millisecond, 330, 200, false, 0}, // elsewhere
		{200 * time.Millisecond, 110, 95, true, 0},   // another way up
		{100 * time.Millisecond, 120, 100, false, 3}, // over those two, and without the first of five
		{700 * time.Millisecond, 120, 100, false, 2}, // what is older than a second is gone
		{time.Second, 120, 100, false, 2},
		{1001 * time.Millisecond, 120, 100, false, 0},
	} {
		now = now.Add(step.after)
		runs := recent.runs(unread(t, r, step.x, step.y, step.turned), now)
		switch {
		case step.long == 0 && len(runs) != 0, step.long > 0 && (len(runs) != 1 || len(runs[0]) != step.long):
			t.Errorf("step %d: %d runs, want one of %d", i, len(runs), step.long)
		}
	}
	for range 2 * mostAdded {
		if runs := recent.runs(unread(t, r, 120, 100, false), now); len(runs) > 0 && len(runs[0]) > mostAdded {
			t.Fatalf("%d frames are added up", len(runs[0]))
		}
	}
	if runs := recent.runs(nil, now); len(runs) != 0 || len(recent) > mostAdded {
		t.Errorf("%d runs of nothing, of %d frames", len(runs), len(recent))
	}
}
