package scan

import "math"

// A point is a place on the symbol or in the picture.
type point struct{ x, y float64 }

// A projection takes one plane to another as a pinhole camera does: row by row,
// the numerators of x and y and what divides both.
type projection [3][3]float64

func (m projection) at(p point) point {
	w := m[2][0]*p.x + m[2][1]*p.y + m[2][2]
	return point{(m[0][0]*p.x + m[0][1]*p.y + m[0][2]) / w, (m[1][0]*p.x + m[1][1]*p.y + m[1][2]) / w}
}

// after is the projection that does n first.
func (m projection) after(n projection) projection {
	var out projection
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				out[i][j] += m[i][k] * n[k][j]
			}
		}
	}
	return out
}

// through is the projection that takes four places to four others, no three of
// either in a line.
func through(from, to [4]point) projection { return ofSquare(to).after(ofSquare(from).inverse()) }

// ofSquare takes the corners 0,0 1,0 1,1 and 0,1 to four places (Heckbert, from
// memory, not seen; a test goes through the corners).
func ofSquare(q [4]point) projection {
	dx, dy := q[0].x-q[1].x+q[2].x-q[3].x, q[0].y-q[1].y+q[2].y-q[3].y
	ax, ay, bx, by := q[1].x-q[2].x, q[1].y-q[2].y, q[3].x-q[2].x, q[3].y-q[2].y
	det := ax*by - bx*ay
	g, h := (dx*by-bx*dy)/det, (ax*dy-dx*ay)/det
	return projection{
		{q[1].x - q[0].x + g*q[1].x, q[3].x - q[0].x + h*q[3].x, q[0].x},
		{q[1].y - q[0].y + g*q[1].y, q[3].y - q[0].y + h*q[3].y, q[0].y},
		{g, h, 1},
	}
}

// inverse is the projection back, up to a factor that does not matter.
func (m projection) inverse() projection {
	var out projection
	for i := range 3 {
		for j := range 3 {
			a, b, c, d := (j+1)%3, (j+2)%3, (i+1)%3, (i+2)%3
			out[i][j] = m[a][c]*m[b][d] - m[a][d]*m[b][c]
		}
	}
	return out
}

// finite tells whether no coefficient has run away.
func (m projection) finite() bool {
	for _, row := range m {
		for _, v := range row {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return false
			}
		}
	}
	return true
}
