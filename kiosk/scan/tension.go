package scan

// A tension gathers what is known about one axis of a sheet, as equations in its knots,
// and is solved by least squares. The zero value knows nothing.
type tension struct {
	sums [knots * knots][band]float64 // of the products with the knot itself and with those after it
	want [knots * knots]float64
}

// band is how far apart two knots may be that one equation names, counted with both.
const band = 2*knots + 1

// add takes in that the sheet ought to lie so far off at a place between four knots (see
// [sheet.around]).
func (t *tension) add(first int, w *[4]float64, off, weight float64) {
	at := [4]int{first, first + 1, first + knots, first + knots + 1}
	for i, a := range at {
		f := w[i] * weight
		row := &t.sums[a]
		for j := i; j < 4; j++ {
			row[at[j]-a] += f * w[j]
		}
		t.want[a] += f * off
	}
}

// stiff is what a plate that resists being bent says: that three knots in a row lie
// straight, and that four are not twisted.
var stiff = func() (t tension) {
	type named = struct {
		knot   int
		factor float64
	}
	equation := func(weight float64, factors ...named) {
		for i, a := range factors {
			for _, b := range factors[i:] {
				t.sums[a.knot][b.knot-a.knot] += weight * a.factor * b.factor
			}
		}
	}
	for j := range knots {
		for i := range knots {
			k := j*knots + i
			if i+2 < knots {
				equation(1, named{k, 1}, named{k + 1, -2}, named{k + 2, 1})
			}
			if j+2 < knots {
				equation(1, named{k, 1}, named{k + knots, -2}, named{k + 2*knots, 1})
			}
			if i+1 < knots && j+1 < knots {
				equation(2, named{k, 1}, named{k + 1, -1}, named{k + knots, -1}, named{k + knots + 1, 1})
			}
		}
	}
	for i := range t.sums {
		for j := range t.sums[i] {
			t.sums[i][j] *= stiffness
		}
	}
	return t
}()

// stiffness is what it costs that three knots in a row are bent by one module, in edges
// that lie one module off (found by trial, no source: of 66 bent tags 65 are read from 0.2
// to 0.5, 61 at 2 and half at 30).
const stiffness = 0.5

// solve writes how far each knot lies off, and leaves t spent; false where that does not
// follow. It is Gauss's elimination, which in a band with a rising diagonal needs no
// pivots.
func (t *tension) solve(into *[knots * knots]float64) bool {
	const n = knots * knots
	for i := range n {
		row := &t.sums[i]
		if !(row[0] > 1e-9) {
			return false
		}
		for a := 1; a < min(band, n-i); a++ {
			if row[a] == 0 {
				continue
			}
			f := row[a] / row[0]
			below := t.sums[i+a][:band-a]
			for b, v := range row[a:] {
				below[b] -= f * v
			}
			t.want[i+a] -= f * t.want[i]
		}
	}
	for i := n - 1; i >= 0; i-- {
		v := t.want[i]
		for a := 1; a < min(band, n-i); a++ {
			v -= t.sums[i][a] * into[i+a]
		}
		into[i] = v / t.sums[i][0]
	}
	return true
}
