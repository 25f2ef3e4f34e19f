package luminance

import (
	"encoding/binary"
	"math/bits"
	"math/rand/v2"
)

// A writer makes files that are right by T.81 and that no camera would write: any
// coefficients, any codes, any ratio of planes, restarts anywhere.
type writer struct {
	random        *rand.Rand
	width, height int
	h, v          int // of the brightness; of three planes
	grey          bool
	every         int // units between restarts
	most          int // bits of a coefficient
	few           int // coefficients of a block, on average

	out  []byte
	acc  uint64
	n    int
	code [2][2]map[byte]coded // of first coefficients and of others; of brightness and of colours
}

// coded is a code and how long it is.
type coded struct {
	bits   uint32
	length int
}

func (w *writer) segment(marker byte, body ...byte) {
	w.out = append(w.out, 0xff, marker)
	w.out = binary.BigEndian.AppendUint16(w.out, uint16(len(body)+2))
	w.out = append(w.out, body...)
}

// table draws a set of codes for what can be meant, and writes it.
func (w *writer) table(class, id int, means []byte) {
	w.random.Shuffle(len(means), func(i, j int) { means[i], means[j] = means[j], means[i] })
	var counts [longest]byte
	w.code[class][id] = map[byte]coded{}
	free, left, code := 2, len(means), uint32(0)
	for length := 1; length <= longest; length++ {
		n := left
		if length < longest {
			for n = min(left, w.random.IntN(free)); (free-n)<<(longest-length) < left-n; n-- {
			}
		}
		counts[length-1] = byte(n)
		for range n {
			w.code[class][id][means[len(means)-left]] = coded{code, length}
			code, left = code+1, left-1
		}
		code, free = code<<1, 2*(free-n)
	}
	w.segment(huffmanTables, append(append([]byte{byte(class<<4 | id)}, counts[:]...), means...)...)
}

func (w *writer) put(v uint32, n int) {
	for i := n - 1; i >= 0; i-- {
		w.acc, w.n = w.acc<<1|uint64(v>>i&1), w.n+1
		if w.n == 8 {
			w.out = append(w.out, byte(w.acc))
			if byte(w.acc) == 0xff {
				w.out = append(w.out, 0)
			}
			w.acc, w.n = 0, 0
		}
	}
}

// even fills the last byte up.
func (w *writer) even() {
	for w.n != 0 {
		w.put(1, 1)
	}
}

func (w *writer) number(zeros byte, v int32, c map[byte]coded) {
	magnitude := max(v, -v)
	n := bits.Len32(uint32(magnitude))
	k := c[zeros<<4|byte(n)]
	w.put(k.bits, k.length)
	if v < 0 {
		v += 1<<n - 1
	}
	w.put(uint32(v), n)
}

func (w *writer) block(plane int) {
	first, others := w.code[0][min(plane, 1)], w.code[1][min(plane, 1)]
	up := int32(1)<<(w.random.IntN(mostFirst+1)) - 1
	w.number(0, w.random.Int32N(2*up+1)-up, first)
	zeros := byte(0)
	for at := 1; at < size; at++ {
		v := int32(0)
		if w.random.IntN(size) < w.few {
			v = 1 + w.random.Int32N(1<<w.random.IntN(w.most))
			if w.random.IntN(2) == 0 {
				v = -v
			}
		}
		if v == 0 {
			zeros++
			continue
		}
		for ; zeros > 15; zeros -= 16 {
			w.put(others[0xf0].bits, others[0xf0].length)
		}
		w.number(zeros, v, others)
		zeros = 0
	}
	if zeros > 0 {
		w.put(others[0].bits, others[0].length)
	}
}

func (w *writer) file() []byte {
	w.out = []byte{0xff, startOfImage}
	planes := 3
	if w.grey {
		planes, w.h, w.v = 1, 1, 1
	}
	for id := range min(planes, 2) {
		by := make([]byte, 1+size)
		by[0] = byte(id)
		for i := range by[1:] {
			by[1+i] = byte(1 + w.random.IntN(1<<w.random.IntN(8)))
		}
		w.segment(quantTables, by...)
		var first, others []byte
		for n := range mostFirst + 1 {
			first = append(first, byte(n))
		}
		for means := range 256 {
			if n := means & 15; n > 0 && n <= 10 || means == 0 || means == 0xf0 {
				others = append(others, byte(means))
			}
		}
		w.table(0, id, first)
		w.table(1, id, others)
	}
	frame := []byte{8, byte(w.height >> 8), byte(w.height), byte(w.width >> 8), byte(w.width), byte(planes)}
	begin := []byte{byte(planes)}
	for i := range planes {
		ratio := byte(0x11)
		if i == 0 {
			ratio = byte(w.h<<4 | w.v)
		}
		frame = append(frame, byte(1+i), ratio, byte(min(i, 1)))
		begin = append(begin, byte(1+i), byte(min(i, 1)*0x11))
	}
	w.segment(startOfFrame, frame...)
	if w.every > 0 {
		w.segment(restartEvery, byte(w.every>>8), byte(w.every))
	}
	w.segment(startOfScan, append(begin, 0, size-1, 0)...)
	across, down := (w.width+8*w.h-1)/(8*w.h), (w.height+8*w.v-1)/(8*w.v)
	for unit := range across * down {
		if w.every > 0 && unit > 0 && unit%w.every == 0 {
			w.even()
			w.out = append(w.out, 0xff, firstRestart+byte((unit/w.every-1)%8))
		}
		for plane := range planes {
			blocks := 1
			if plane == 0 {
				blocks = w.h * w.v
			}
			for range blocks {
				w.block(plane)
			}
		}
	}
	w.even()
	return append(w.out, 0xff, endOfImage)
}
