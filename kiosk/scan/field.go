package scan

// The field of 256 elements that QR symbols are mended in: polynomials over two
// elements modulo x⁸+x⁴+x³+x²+1 (ISO/IEC 18004, from memory, not seen; the tests mend
// symbols of an open encoder by it). powers are those of x, twice over, so that the
// sum of two logarithms needs no remainder; logs is their inverse.
var powers, logs = func() (pow [510]byte, log [256]int) {
	v := 1
	for i := range 255 {
		pow[i], pow[i+255] = byte(v), byte(v)
		log[v] = i
		if v <<= 1; v >= 256 {
			v ^= 0x11d
		}
	}
	return pow, log
}()

func times(a, b byte) byte {
	if a == 0 || b == 0 {
		return 0
	}
	return powers[logs[a]+logs[b]]
}

// over divides by b, which is not 0.
func over(a, b byte) byte {
	if a == 0 {
		return 0
	}
	return powers[logs[a]+255-logs[b]]
}

// valueAt is the polynomial's value where x is a power, by its lowest coefficients.
func valueAt(poly []byte, power int) byte {
	sum := byte(0)
	for i := len(poly) - 1; i >= 0; i-- {
		if sum != 0 {
			sum = powers[logs[sum]+power]
		}
		sum ^= poly[i]
	}
	return sum
}
