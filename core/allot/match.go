package allot

import "math"

// edge is a sling that may serve a row, at a cost.
type edge struct {
	cost int64
	col  int32
}

// row is one sling that is wanted. Its edges are in the order of cost.
type row struct {
	edges []edge
	drop  int64 // what it costs to leave the row without a sling; never for a must
}

const never = math.MaxInt64 / 2

// matching hands slings to rows, each row served or dropped at the least total.
// Rows are added one after the other, each by the shortest path that changes what
// was handed out before (successive shortest paths with potentials), so that what
// stands is the best there is for the rows so far.
type matching struct {
	rows  []row
	has   []int32 // of each row, its column; none where it was dropped
	of    []int32 // of each column, its row
	u, v  []int64 // potentials: cost − u − v is never below 0, and 0 where handed out
	dist  []int64 // of each column, while a path is sought
	from  []int32 // the row by which it was reached
	heap  []reached
	seen  []int32 // columns reached
	shut  []int32 // columns whose row was gone through
	steps int64   // edges and columns looked at so far
}

const (
	none     = int32(-1)
	popSteps = 10 // what taking a column from the heap costs beside an edge
)

type reached struct {
	dist int64
	col  int32
}

func newMatching(cols int) *matching {
	m := &matching{of: make([]int32, cols), v: make([]int64, cols), dist: make([]int64, cols), from: make([]int32, cols)}
	m.reset()
	for i := range m.dist {
		m.dist[i] = never
	}
	return m
}

// reset takes all rows away.
func (m *matching) reset() {
	m.rows, m.has, m.u = m.rows[:0], m.has[:0], m.u[:0]
	m.steps += int64(len(m.of))
	for i := range m.of {
		m.of[i], m.v[i] = none, 0
	}
}

// add adds a row; false where it must be served and cannot be, which leaves
// everything as it was.
func (m *matching) add(r row) bool {
	start := int32(len(m.rows))
	m.rows, m.has, m.u = append(m.rows, r), append(m.has, none), append(m.u, 0)
	end, dropped, at := m.path(start)
	ok := end != none || dropped != none
	if ok {
		m.raise(start, at)
		m.hand(start, end, dropped)
	} else {
		m.rows, m.has, m.u = m.rows[:start], m.has[:start], m.u[:start]
	}
	for _, c := range m.seen {
		m.dist[c] = never
	}
	m.seen, m.shut, m.heap = m.seen[:0], m.shut[:0], m.heap[:0]
	return ok
}

// cost is what the sling of a row costs; the row has one.
func (m *matching) cost(i int) int64 { return m.u[i] + m.v[m.has[i]] }

// path looks for the cheapest way to serve or drop one row more: it ends at a free
// column, or at a row that is dropped, at a distance.
func (m *matching) path(start int32) (end, dropped int32, at int64) {
	i, h := start, int64(0)
	end, dropped, at = none, none, never
	for {
		r := &m.rows[i]
		base := h - m.u[i]
		if r.drop < never && base+r.drop < at {
			end, dropped, at = none, i, base+r.drop
		}
		for _, e := range r.edges {
			if base+e.cost >= at {
				break // dearer than the end that is known, whatever the column's potential
			}
			m.steps++
			d := base + e.cost - m.v[e.col]
			if d >= at || d >= m.dist[e.col] {
				continue
			}
			if m.dist[e.col] == never {
				m.seen = append(m.seen, e.col)
			}
			m.dist[e.col], m.from[e.col] = d, i
			if m.of[e.col] == none {
				end, dropped, at = e.col, none, d
				continue
			}
			m.push(reached{d, e.col})
		}
		for {
			if len(m.heap) == 0 || m.heap[0].dist >= at {
				return end, dropped, at
			}
			next := m.pop()
			m.steps += popSteps
			if next.dist > m.dist[next.col] {
				continue // reached again by a shorter way
			}
			m.shut = append(m.shut, next.col)
			i, h = m.of[next.col], next.dist
			break
		}
	}
}

// raise keeps the potentials right for a path of length at.
func (m *matching) raise(start int32, at int64) {
	m.u[start] += at
	for _, c := range m.shut {
		m.u[m.of[c]] += at - m.dist[c]
		m.v[c] -= at - m.dist[c]
	}
}

// hand passes the slings on along the path.
func (m *matching) hand(start, end, dropped int32) {
	c := end
	if dropped != none {
		if dropped == start {
			return
		}
		c = m.has[dropped]
		m.has[dropped] = none
	}
	for {
		i := m.from[c]
		next := m.has[i]
		m.has[i], m.of[c] = c, i
		if i == start {
			return
		}
		c = next
	}
}

func (r reached) before(o reached) bool { return r.dist < o.dist || r.dist == o.dist && r.col < o.col }

func (m *matching) push(r reached) {
	h := append(m.heap, r)
	for i := len(h) - 1; i > 0; {
		up := (i - 1) / 2
		if !h[i].before(h[up]) {
			break
		}
		h[i], h[up] = h[up], h[i]
		i = up
	}
	m.heap = h
}

func (m *matching) pop() reached {
	h := m.heap
	top, last := h[0], len(h)-1
	h[0] = h[last]
	h = h[:last]
	for i := 0; ; {
		down := 2*i + 1
		if down >= last {
			break
		}
		if down+1 < last && h[down+1].before(h[down]) {
			down++
		}
		if !h[down].before(h[i]) {
			break
		}
		h[i], h[down] = h[down], h[i]
		i = down
	}
	m.heap = h
	return top
}
