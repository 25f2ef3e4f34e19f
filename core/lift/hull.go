package lift

// margin is how far inside the picks the centre of gravity must lie, as a part
// of their longest side (site policy, no source).
const margin = 0.02

// inside tells whether, in plan, a point lies inside the convex hull of the
// picks by at least the margin.
func inside(p vec, picks []vec) bool {
	corners, n := hull(picks)
	if n < 3 {
		return false
	}
	longest := 0.0
	for i := range n {
		longest = max(longest, corners[(i+1)%n].minus(corners[i]).length())
	}
	for i := range n {
		side := corners[(i+1)%n].minus(corners[i])
		if distance := side.turn(p.minus(corners[i])) / side.length(); !(distance >= margin*longest*(1-Tolerance)) {
			return false
		}
	}
	return true
}

// hull lists the corners of the convex hull of up to four picks in plan,
// turning left. Picks on a side are no corners; fewer than three corners are no
// hull.
func hull(picks []vec) (corners [9]vec, n int) {
	var sorted [4]vec
	for i, p := range picks {
		at := i
		for ; at > 0 && (p.x < sorted[at-1].x || p.x == sorted[at-1].x && p.y < sorted[at-1].y); at-- {
			sorted[at] = sorted[at-1]
		}
		sorted[at] = p.plan()
	}
	// Along the lower side and back along the upper one, dropping what does not turn left.
	floor := 0
	add := func(p vec) {
		for n-floor >= 2 && corners[n-1].minus(corners[n-2]).turn(p.minus(corners[n-1])) <= 0 {
			n--
		}
		corners[n] = p
		n++
	}
	for _, p := range sorted[:len(picks)] {
		add(p)
	}
	floor = n - 1
	for i := len(picks) - 2; i >= 0; i-- {
		add(sorted[i])
	}
	return corners, n - 1
}
