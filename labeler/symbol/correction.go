package symbol

// field is the field of 256 elements that codewords are counted in: powers of 2 and
// their logarithms, modulo x⁸ + x⁴ + x³ + x² + 1 (ISO/IEC 18004, from memory, not
// seen; the tests hold it against an open encoder).
type field struct {
	power [2 * 255]byte // of 2; twice around, so that sums of logarithms need no remainder
	log   [256]int      // of nothing at 0
}

var codewords = func() (f field) {
	v := 1
	for i := range 255 {
		f.power[i], f.power[i+255] = byte(v), byte(v)
		f.log[v] = i
		if v <<= 1; v > 255 {
			v ^= 0x11d
		}
	}
	return f
}()

func (f *field) product(a, b byte) byte {
	if a == 0 || b == 0 {
		return 0
	}
	return f.power[f.log[a]+f.log[b]]
}

// generator is the product of x − 2ⁱ for i from 0 to n − 1, highest power first and
// without its own leading 1.
func (f *field) generator(n int) []byte {
	g := make([]byte, n+1)
	g[0] = 1
	for i := range n {
		for j := i + 1; j > 0; j-- {
			g[j] ^= f.product(g[j-1], f.power[i])
		}
	}
	return g[1:]
}

// Correction returns the n codewords of correction that belong to the data words of
// one block: what is left of them, moved up by n places, by the generator of n roots
// (ISO/IEC 18004, from memory, not seen). It is linear: the correction of the sum of
// two data words, bit by bit, is the sum of theirs.
func Correction(data []byte, n int) []byte {
	return correction(data, codewords.generator(n))
}

func correction(data, generator []byte) []byte {
	rest := make([]byte, len(generator))
	for _, d := range data {
		lead := d ^ rest[0]
		copy(rest, rest[1:])
		rest[len(rest)-1] = 0
		for i, g := range generator {
			rest[i] ^= codewords.product(lead, g)
		}
	}
	return rest
}
