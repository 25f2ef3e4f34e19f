package luminance

const (
	// ahead is how many bits are looked up at once; most codes, and with them most
	// small coefficients, are shorter.
	ahead = 10
	// longest is how many bits a code has at most (T.81, annex C).
	longest = 16
)

// A table is a set of codes. Codes of a length lie side by side, those of the next
// behind them.
type table struct {
	known  bool
	codes  [1 << ahead]uint16 // by the next bits: what is meant and, in the lowest eight bits, how long its code is; 0: longer than these
	whole  [1 << ahead]int32  // by the same, where the coefficient is within them: it (from bit 16), zeros before it (from bit 8), and bits in all; 0: it is not
	ends   [longest + 1]int32 // of each length, the first code after its last
	behind [longest + 1]int32 // of each length, what is to be added to a code for its place in means
	means  [256]byte
}

// huffman reads tables of codes (T.81, B.2.4.2).
func (d *decoder) huffman(body []byte) bool {
	for len(body) > 0 {
		if len(body) < 1+longest || body[0]&^0x11 != 0 {
			return false
		}
		t := &d.tables[body[0]>>4][body[0]&1]
		n, ok := t.set(body[1:])
		if !ok {
			return false
		}
		body = body[1+n:]
	}
	return true
}

// set makes the table from how many codes there are of each length and what they mean,
// and tells how many bytes that was; false where there are more codes than there can be.
func (t *table) set(said []byte) (n int, ok bool) {
	*t = table{}
	code, place := int32(0), int32(0)
	for length := 1; length <= longest; length++ {
		code <<= 1
		t.behind[length] = place - code
		count := int32(said[length-1])
		code, place = code+count, place+count
		t.ends[length] = code
		if code > 1<<length || place > int32(len(t.means)) {
			return 0, false
		}
	}
	if place == 0 || len(said) < longest+int(place) {
		return 0, false
	}
	copy(t.means[:], said[longest:longest+place])
	t.known = true
	t.lookUp()
	return longest + int(place), true
}

// lookUp fills in what short codes mean.
func (t *table) lookUp() {
	for bits := range uint32(1 << ahead) {
		for length := 1; length <= ahead; length++ {
			code := int32(bits >> (ahead - length))
			if code >= t.ends[length] {
				continue
			}
			means := t.means[t.behind[length]+code]
			t.codes[bits] = uint16(means)<<8 | uint16(length)
			zeros, more := int32(means>>4), int(means&15)
			if all := length + more; more > 0 && all <= ahead {
				value := extend(bits>>(ahead-all)&(1<<more-1), more)
				t.whole[bits] = value<<16 | zeros<<8 | int32(all)
			}
			break
		}
	}
}

// extend is the number that some bits stand for (T.81, figure F.12).
func extend(bits uint32, n int) int32 {
	if n > 0 && bits < 1<<(n-1) {
		return int32(bits) - 1<<n + 1
	}
	return int32(bits)
}
