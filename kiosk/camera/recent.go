package camera

import (
	"time"

	"cribgate/kiosk/scan"
)

// Frames that cannot be read are added up over the last moment, so that what glare or
// noise hide in one is seen in another. How many, and for how long (site policy, no
// source): less than what lies between two tags that a hand holds up, and than
// [likeFor], so that no frame of before goes into both the first and the last likeness.
const (
	mostAdded = 5
	addFor    = time.Second
)

// recent are the grids of the last frames that were not read, the newest last. The zero
// value has none.
type recent []laidFrame

type laidFrame struct {
	at    time.Time
	grids []scan.Grid
}

// runs takes in the grids of a frame, and follows each back over the frames before it,
// to those that were laid beside it and beside each other. A grid without any is no run.
func (r *recent) runs(grids []scan.Grid, now time.Time) (runs [][]scan.Grid) {
	before := *r
	for len(before) > 0 && (now.Sub(before[0].at) > addFor || len(before) >= mostAdded) {
		before = before[1:]
	}
	for _, g := range grids {
		run := []scan.Grid{g}
		for i := len(before) - 1; i >= 0; i-- {
			for _, o := range before[i].grids {
				if run[len(run)-1].Beside(o) {
					run = append(run, o)
					break
				}
			}
		}
		if len(run) > 1 {
			runs = append(runs, run)
		}
	}
	if len(grids) > 0 {
		before = append(before, laidFrame{now, grids})
	}
	*r = before
	return runs
}
