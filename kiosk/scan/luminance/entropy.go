package luminance

import (
	"encoding/binary"
	"image"
)

// zigzag is where each coefficient of the file lies in its block (T.81, figure A.6).
var zigzag = [size]uint8{
	0, 1, 8, 16, 9, 2, 3, 10, 17, 24, 32, 25, 18, 11, 4, 5,
	12, 19, 26, 33, 40, 48, 41, 34, 27, 20, 13, 6, 7, 14, 21, 28,
	35, 42, 49, 56, 57, 50, 43, 36, 29, 22, 15, 23, 30, 37, 44, 51,
	58, 59, 52, 45, 38, 31, 39, 46, 53, 60, 61, 54, 47, 55, 62, 63,
}

// A stream has the next bits of a scan, the first of them the highest. Below those that
// it has, some may lie that come after.
type stream struct {
	data []byte
	at   int
	next uint64
	n    uint // how many there are
}

// enough is how many bits a code and its coefficient have at most.
const enough = 32

// fill takes up bytes for at least enough bits, or as far as they go: to the next
// marker.
func (s *stream) fill(next uint64, n uint) (uint64, uint) {
	const ones, highest = 0x0101010101010101, 0x8080808080808080
	if s.at+8 <= len(s.data) {
		if v := binary.BigEndian.Uint64(s.data[s.at:]); (^v-ones)&v&highest == 0 { // none is 0xff
			whole := (64 - n) / 8
			s.at += int(whole)
			return next | v>>n, n + 8*whole
		}
	}
	for n <= 56 && s.at < len(s.data) {
		v := s.data[s.at]
		if v == 0xff {
			if s.at+1 == len(s.data) || s.data[s.at+1] != 0 {
				break
			}
			s.at++
		}
		s.at++
		next |= uint64(v) << (56 - n)
		n += 8
	}
	return next, n
}

// marker tells whether this marker is what comes next, after the rest of a byte at
// most, and passes it.
func (s *stream) marker(want byte) bool {
	if s.n >= 8 || s.at+2 > len(s.data) || s.data[s.at] != 0xff || s.data[s.at+1] != want {
		return false
	}
	s.at += 2
	s.next, s.n = 0, 0
	return true
}

// scan reads the blocks, unit by unit.
func (d *decoder) scan() (*image.Gray, bool) {
	light := &d.parts[0]
	across, down := (d.width+8*light.h-1)/(8*light.h), (d.height+8*light.v-1)/(8*light.v)
	m := image.NewGray(image.Rect(0, 0, 8*light.h*across, 8*light.v*down))
	in := stream{data: d.data, at: d.at}
	by := &d.quants[light.quant].by
	var coefficients block
	restarts := byte(0)
	for unit := range across * down {
		if d.every > 0 && unit > 0 && unit%d.every == 0 {
			if !in.marker(firstRestart + restarts%8) {
				return nil, false
			}
			restarts++
			light.last = 0
		}
		x, y := unit%across*light.h, unit/across*light.v
		for i := range light.h * light.v {
			rows, ok := in.block(light, by, &coefficients)
			if !ok {
				return nil, false
			}
			coefficients.draw(rows, m.Pix[8*((y+i/light.h)*m.Stride+x+i%light.h):], m.Stride)
		}
		for i := range d.parts[1:] {
			if !in.pass(&d.parts[1+i]) {
				return nil, false
			}
		}
	}
	if !in.marker(endOfImage) { // more is behind the scan
		return nil, false
	}
	return m.SubImage(image.Rect(0, 0, d.width, d.height)).(*image.Gray), true
}

// mostFirst is how many bits a first coefficient has at most (T.81, table F.1).
const mostFirst = 11

// block reads the coefficients of a block, each multiplied, and tells in which rows
// there are any but the first of all.
func (s *stream) block(c *component, by *block, out *block) (rows uint8, ok bool) {
	*out = block{}
	next, n := s.fill(s.next, s.n)
	means, length := c.dc.code(next)
	more := uint(means)
	if length == 0 || more > mostFirst {
		return 0, false
	}
	next <<= length
	c.last += extend(uint32(next>>(64-more)), int(more))
	next <<= more
	n -= length + more // less than none comes out as very many
	out[0] = c.last * by[0]

	t := c.ac
	for zig := uint(1); zig < size; zig++ {
		if n < enough {
			next, n = s.fill(next, n)
		}
		var value int32
		if whole := t.whole[next>>(64-ahead)]; whole != 0 {
			value = whole >> 16
			zig += uint(whole >> 8 & 15)
			length := uint(whole & 255)
			next <<= length
			n -= length
		} else {
			means, length := t.code(next)
			zeros, more := uint(means>>4), uint(means&15)
			if length == 0 {
				return 0, false
			}
			next <<= length
			n -= length + more
			zig += zeros
			if more == 0 {
				if zeros == 0 {
					break
				}
				if zeros != 15 {
					return 0, false
				}
				continue
			}
			value = extend(uint32(next>>(64-more)), int(more))
			next <<= more
		}
		if zig >= size {
			return 0, false
		}
		at := zigzag[zig]
		out[at] = value * by[zig]
		rows |= 1 << (at >> 3)
	}
	s.next, s.n = next, n
	return rows, n <= 64
}

// pass counts a block off.
func (s *stream) pass(c *component) bool {
	next, n := s.fill(s.next, s.n)
	means, length := c.dc.code(next)
	if length == 0 || means > mostFirst {
		return false
	}
	next <<= length + uint(means)
	n -= length + uint(means)
	t := c.ac
	for zig := uint(1); zig < size; zig++ {
		if n < enough {
			next, n = s.fill(next, n)
		}
		if whole := t.whole[next>>(64-ahead)]; whole != 0 {
			if zig += uint(whole >> 8 & 15); zig >= size {
				return false
			}
			length := uint(whole & 255)
			next <<= length
			n -= length
			continue
		}
		means, length := t.code(next)
		zeros, more := uint(means>>4), uint(means&15)
		if length == 0 {
			return false
		}
		next <<= length + more
		n -= length + more
		zig += zeros
		switch {
		case more == 0 && zeros == 0:
			zig = size
		case more == 0 && zeros != 15, more > 0 && zig >= size:
			return false
		}
	}
	s.next, s.n = next, n
	return n <= 64
}

// code is what the next bits mean, and how many of them that takes; 0 where they mean
// nothing.
func (t *table) code(next uint64) (means byte, length uint) {
	if c := t.codes[next>>(64-ahead)]; c != 0 {
		return byte(c >> 8), uint(c & 255)
	}
	for length := ahead + 1; length <= longest; length++ {
		if code := int32(next >> (64 - length)); code < t.ends[length] {
			return t.means[t.behind[length]+code], uint(length)
		}
	}
	return 0, 0
}
