package render

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/labeler/sheet"
)

// No straight piece lies farther from its curve than is promised, and no curve
// becomes more pieces than its length asks for.
func TestFlattenTolerance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		point := func(name string) sheet.Point {
			at := rapid.IntRange(-100_000, 100_000)
			return sheet.Point{X: quantity.Length(at.Draw(t, name+" x")), Y: quantity.Length(at.Draw(t, name+" y"))}
		}
		from, to := point("from"), [3]sheet.Point{point("first"), point("second"), point("end")}
		points := cube([]sheet.Point{from}, from, to)
		if points[len(points)-1] != to[2] {
			t.Fatalf("ends at %v, want %v", points[len(points)-1], to[2])
		}
		if len(points) > 250 {
			t.Fatalf("%d pieces", len(points))
		}
		x := [4]float64{float64(from.X), float64(to[0].X), float64(to[1].X), float64(to[2].X)}
		y := [4]float64{float64(from.Y), float64(to[0].Y), float64(to[1].Y), float64(to[2].Y)}
		n := len(points) - 1
		for i := range n {
			a, b := points[i], points[i+1]
			for _, part := range []float64{.25, .5, .75} {
				at := (float64(i) + part) / float64(n)
				px, py := float64(along(x, at)), float64(along(y, at))
				// The point of the piece at the same share is near enough: the
				// distance to the piece is no larger.
				qx, qy := float64(a.X)+part*float64(b.X-a.X), float64(a.Y)+part*float64(b.Y-a.Y)
				if off := math.Hypot(px-qx, py-qy); off > float64(CurveTolerance)+2 {
					t.Fatalf("piece %d of %d lies %.1f µm off at %.2f", i+1, n, off, part)
				}
			}
		}
	})
}

func TestFlattenDropsWhatEnclosesNothing(t *testing.T) {
	at := func(x, y quantity.Length) [3]sheet.Point { return [3]sheet.Point{{X: x, Y: y}} }
	got := flatten(sheet.Path{
		{Op: sheet.Move, To: at(0, 0)}, {Op: sheet.Line, To: at(1, 0)}, // a line
		{Op: sheet.Move, To: at(0, 0)}, {Op: sheet.Line, To: at(1, 0)}, {Op: sheet.Line, To: at(1, 1)}, {Op: sheet.Line, To: at(0, 0)},
	})
	if len(got) != 1 || len(got[0]) != 3 {
		t.Errorf("outlines %v, want one of three corners", got)
	}
	if got := flatten(nil); got != nil {
		t.Errorf("outlines %v of nothing", got)
	}
}

// Paths that run the wrong way are turned, and enclose the same.
func TestReversed(t *testing.T) {
	ring := sheet.Rectangle(sheet.Rect{Max: sheet.Point{X: 10, Y: 10}})
	ring = append(ring, reversed(sheet.Rectangle(sheet.Rect{Min: sheet.Point{X: 2, Y: 2}, Max: sheet.Point{X: 8, Y: 8}}))...)
	if got := area(ring); got != 2*(100-36) {
		t.Errorf("twice the area is %d, want %d", got, 2*(100-36))
	}
	back := reversed(ring)
	if got := area(back); got != -2*(100-36) {
		t.Errorf("the other way round: twice the area is %d, want %d", got, -2*(100-36))
	}
	curve := sheet.Path{
		{Op: sheet.Move, To: [3]sheet.Point{{X: 0, Y: 0}}},
		{Op: sheet.Cube, To: [3]sheet.Point{{X: 1, Y: 2}, {X: 3, Y: 4}, {X: 5, Y: 6}}},
		{Op: sheet.Line, To: [3]sheet.Point{{X: 0, Y: 9}}},
	}
	want := sheet.Path{
		{Op: sheet.Move, To: [3]sheet.Point{{X: 0, Y: 9}}},
		{Op: sheet.Line, To: [3]sheet.Point{{X: 5, Y: 6}}},
		{Op: sheet.Cube, To: [3]sheet.Point{{X: 3, Y: 4}, {X: 1, Y: 2}, {X: 0, Y: 0}}},
	}
	if got := reversed(curve); !equal(got, want) {
		t.Errorf("reversed: %v, want %v", got, want)
	}
}

func equal(a, b sheet.Path) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}
