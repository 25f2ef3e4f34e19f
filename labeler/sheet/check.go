package sheet

import (
	"fmt"
	"math"

	"cribgate/core/quantity"
)

// A cover is what one thing on the tag covers.
type cover struct {
	what   string
	box    Rect
	radius quantity.Length // of a circle that fills the box; 0 for a box
	text   bool
	ground bool   // it may lie under texts
	colour Colour // of a text
}

func (l *layout) take(what string, box Rect) {
	if box.Min == box.Max { // nothing but spaces
		return
	}
	l.taken = append(l.taken, cover{what: what, box: box})
}

func (l *layout) takeCircle(what string, centre Point, radius quantity.Length) {
	l.taken = append(l.taken, cover{what: what, box: around(centre, radius), radius: radius})
}

func around(centre Point, radius quantity.Length) Rect {
	return Rect{pt(centre.X-radius, centre.Y-radius), pt(centre.X+radius, centre.Y+radius)}
}

// check refuses a drawing in which two things touch, or one comes too near to
// the edge or the hole.
func (l *layout) check() error {
	if hole := l.stock.Hole; hole.Diameter > 0 {
		reach := hole.Diameter/2 + l.stock.Margin
		keep := cover{what: fmt.Sprintf("hole with its margin of %s", l.stock.Margin), box: around(hole.Centre, reach), radius: reach}
		for _, a := range l.taken {
			if by := a.into(keep); by > 0 {
				return fmt.Errorf("%w: %s lies %s inside the %s", ErrOverlap, a.what, by, keep.what)
			}
		}
		if by := l.overEdge(cover{box: around(hole.Centre, hole.Diameter/2), radius: hole.Diameter / 2}, 0); by > 0 {
			return fmt.Errorf("%w: hole by %s", ErrEdge, by)
		}
	}
	for _, c := range l.stock.Clear {
		keep := cover{what: "the " + c.What + ", which stays clear", box: rectOf(c.Box)}
		for _, a := range l.taken {
			if by := a.into(keep); by > 0 {
				return fmt.Errorf("%w: %s lies %s inside %s", ErrOverlap, a.what, by, keep.what)
			}
		}
	}
	for i, a := range l.taken {
		if by := l.overEdge(a, l.stock.Margin); by > 0 {
			return fmt.Errorf("%w: %s by %s, margin %s", ErrEdge, a.what, by, l.stock.Margin)
		}
		for _, b := range l.taken[:i] {
			if by := a.into(b); by > 0 && !a.standsOn(b) {
				return fmt.Errorf("%w: %s lies %s inside %s", ErrOverlap, a.what, by, b.what)
			}
		}
	}
	return nil
}

// standsOn says whether a text lies on its ground with all of its letters.
func (a cover) standsOn(b cover) bool {
	return a.text && b.ground && a.box.Min.X >= b.box.Min.X && a.box.Min.Y >= b.box.Min.Y &&
		a.box.Max.X <= b.box.Max.X && a.box.Max.Y <= b.box.Max.Y
}

// into says how far two areas reach into each other; 0 where they do not.
func (a cover) into(b cover) quantity.Length {
	box := min(a.box.Max.X-b.box.Min.X, b.box.Max.X-a.box.Min.X, a.box.Max.Y-b.box.Min.Y, b.box.Max.Y-a.box.Min.Y)
	if box <= 0 {
		return 0
	}
	if a.radius == 0 && b.radius == 0 {
		return box
	}
	if a.radius == 0 {
		a, b = b, a
	}
	centre := a.centre()
	nearest := b.centre()
	if b.radius == 0 {
		nearest = pt(
			min(max(centre.X, b.box.Min.X), b.box.Max.X),
			min(max(centre.Y, b.box.Min.Y), b.box.Max.Y),
		)
	}
	return max(0, a.radius+b.radius-distance(centre, nearest))
}

func (a cover) centre() Point {
	return pt((a.box.Min.X+a.box.Max.X)/2, (a.box.Min.Y+a.box.Max.Y)/2)
}

// distance is rounded down, so that a touch is never called clear.
func distance(a, b Point) quantity.Length {
	return quantity.Length(math.Hypot(float64(a.X-b.X), float64(a.Y-b.Y)))
}

// overEdge says how far an area reaches over the edge of the blank less a
// margin; 0 or less where it does not.
func (l *layout) overEdge(a cover, margin quantity.Length) quantity.Length {
	w, h := l.stock.Width, l.stock.Height
	corner := l.stock.Corner
	if l.stock.Round {
		corner = w / 2
	}
	over := max(margin-a.box.Min.X, margin-a.box.Min.Y, a.box.Max.X-(w-margin), a.box.Max.Y-(h-margin))
	points := []Point{a.box.Min, a.box.Max, pt(a.box.Min.X, a.box.Max.Y), pt(a.box.Max.X, a.box.Min.Y)}
	if a.radius > 0 {
		points = []Point{a.centre()}
	}
	for _, p := range points {
		// The point of the blank's inner frame, round which its corners turn,
		// that lies nearest. Within the frame the straight sides decide.
		pivot := pt(min(max(p.X, corner), w-corner), min(max(p.Y, corner), h-corner))
		if p.X == pivot.X || p.Y == pivot.Y {
			continue
		}
		// One more, since distance rounds down.
		over = max(over, distance(p, pivot)+1+a.radius-(corner-margin))
	}
	return over
}
