package scan

// mostCheck is the most check words of one block that are mended: QR symbols have up
// to 30 (ISO/IEC 18004, from memory, not seen).
const mostCheck = 32

// mend corrects one block of a symbol in place: words, of which the last check are
// those of the correction. erased names places that are not to be trusted. It finds
// the one block within reach, where twice the wrong words outside erased and the
// erased ones together are no more than check, and says how many outside were wrong;
// else it leaves words as they are. What it returns true for is always a block that
// checks.
//
// It is Reed and Solomon's code with the Berlekamp-Massey algorithm begun with the
// erased places, and Forney's rule for the values (from memory, not seen; the tests
// hold it against trying out).
func mend(words []byte, check int, erased []int) (wrong int, ok bool) {
	n := len(words)
	if check < 1 || check > mostCheck || n <= check || n > 255 || len(erased) > check {
		return 0, false
	}
	var sums [mostCheck]byte
	if !syndromes(words, sums[:check]) {
		return 0, true
	}
	// The locator has a root for each wrong place; known is its degree, before.
	var locator, last [2*mostCheck + 2]byte
	locator[0] = 1
	for i, at := range erased {
		x := powers[n-1-at]
		for j := i + 1; j > 0; j-- {
			locator[j] ^= times(x, locator[j-1])
		}
	}
	t := len(erased)
	last = locator
	degree := t
	for k := t; k < check; k++ {
		off := byte(0)
		for j := range min(degree, k) + 1 {
			off ^= times(locator[j], sums[k-j])
		}
		copy(last[1:], last[:len(last)-1])
		last[0] = 0
		if off == 0 {
			continue
		}
		next := locator
		for j := range next {
			next[j] ^= times(off, last[j])
		}
		if 2*degree <= k+t {
			degree = k + 1 + t - degree
			for j := range last {
				last[j] = over(locator[j], off)
			}
		}
		locator = next
	}
	if degree > check || 2*(degree-t) > check-t {
		return 0, false
	}
	return replace(words, locator[:degree+1], sums[:check], t)
}

// replace puts the right values where the locator has its roots.
func replace(words, locator, sums []byte, erased int) (wrong int, ok bool) {
	n, degree := len(words), len(locator)-1
	if locator[degree] == 0 {
		return 0, false
	}
	// What stands at a place is the evaluator over the derivative of the locator.
	var evaluator, derived [mostCheck]byte
	for i := range sums {
		for j := range min(i, degree) + 1 {
			evaluator[i] ^= times(locator[j], sums[i-j])
		}
	}
	for i := 1; i <= degree; i += 2 {
		derived[i-1] = locator[i]
	}
	var places [mostCheck]int
	var values [mostCheck]byte
	found := 0
	for at := range n {
		power := n - 1 - at
		back := (255 - power) % 255
		if valueAt(locator, back) != 0 {
			continue
		}
		below := valueAt(derived[:degree], back)
		if below == 0 || found == degree {
			return 0, false
		}
		places[found] = at
		values[found] = times(powers[power], over(valueAt(evaluator[:len(sums)], back), below))
		found++
	}
	if found != degree {
		return 0, false
	}
	for i := range found {
		words[places[i]] ^= values[i]
	}
	var again [mostCheck]byte
	if syndromes(words, again[:len(sums)]) {
		for i := range found {
			words[places[i]] ^= values[i]
		}
		return 0, false
	}
	return degree - erased, true
}

// syndromes fills in the block's value at each root of the code, and tells whether
// any is not zero.
func syndromes(words, sums []byte) bool {
	some := byte(0)
	for i := range sums {
		sum := byte(0)
		for _, w := range words {
			if sum != 0 {
				sum = powers[logs[sum]+i]
			}
			sum ^= w
		}
		sums[i] = sum
		some |= sum
	}
	return some != 0
}
