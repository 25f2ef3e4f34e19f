package printtemplates

import (
	"math"
	"strconv"

	"cribgate/core/quantity"
	"cribgate/core/strict"
)

const maxYears = 12

// readMarks reads the marks. Their places are given in runs, each along a line
// or along a circle around the middle of the blank.
func readMarks(o *strict.Object, middle Point) Marks {
	m := Marks{
		Ring: length(o, "ring_um", 500, 20_000),
		Size: length(o, "type_um", smallestType, largestType),
	}
	m.Line = length(o, "line_um", 50, max(50, int64(m.Ring/2)))
	m.Smallest = length(o, "smallest_type_um", smallestType, max(smallestType, int64(m.Size)))
	for _, run := range o.Objs("runs") {
		list, most := &m.Months, int64(12)
		if choice(run, "of", "months", "years") == 1 {
			list, most = &m.Years, maxYears
		}
		next := int64(len(*list)) + 1
		if next > most {
			run.Fail("from", "there are %d already", most)
			return m
		}
		from := run.Int("from", next, next)
		to := run.Int("to", next, most)
		place := alongLine
		if run.Has("radius_um") {
			place = alongCircle
		}
		*list = append(*list, place(run, middle, int(to-from)+1)...)
	}
	if len(m.Months) != 0 && len(m.Months) != 12 {
		o.Fail("runs", "%s of 12 months have a mark", strconv.Itoa(len(m.Months)))
	}
	return m
}

// alongLine places count marks from a point on, a step apart, each number at
// the same distance from its ring.
func alongLine(o *strict.Object, _ Point, count int) []Mark {
	first := point(o, "x_um", "y_um")
	step := point(o, "step_x_um", "step_y_um")
	label := point(o, "label_x_um", "label_y_um")
	width := length(o, "label_width_um", 500, largestBlank)
	var marks []Mark
	for i := range count {
		n := quantity.Length(i)
		ring := Point{first.X + n*step.X, first.Y + n*step.Y}
		marks = append(marks, Mark{ring, Point{ring.X + label.X, ring.Y + label.Y}, width})
	}
	return marks
}

// alongCircle places count marks around the middle, clockwise from the top.
func alongCircle(o *strict.Object, middle Point, count int) []Mark {
	radius := length(o, "radius_um", 1_000, largestBlank)
	labelRadius := length(o, "label_radius_um", 1_000, largestBlank)
	first := o.Int("start_mdeg", -360_000, 360_000)
	step := o.Int("step_mdeg", -360_000, 360_000)
	width := length(o, "label_width_um", 500, largestBlank)
	var marks []Mark
	for i := range count {
		sin, cos := math.Sincos(float64(first+int64(i)*step) / 1000 * math.Pi / 180)
		at := func(r quantity.Length) Point {
			return Point{
				middle.X + quantity.Length(math.Round(float64(r)*sin)),
				middle.Y - quantity.Length(math.Round(float64(r)*cos)),
			}
		}
		marks = append(marks, Mark{at(radius), at(labelRadius), width})
	}
	return marks
}
