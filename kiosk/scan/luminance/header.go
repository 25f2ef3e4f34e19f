package luminance

import (
	"encoding/binary"
	"image"
)

// Markers of ITU-T T.81, table B.1.
const (
	startOfFrame   = 0xc0 // baseline
	huffmanTables  = 0xc4
	firstRestart   = 0xd0
	startOfImage   = 0xd8
	endOfImage     = 0xd9
	startOfScan    = 0xda
	quantTables    = 0xdb
	restartEvery   = 0xdd
	firstOfProgram = 0xe0 // segments of programs: JFIF, Exif and the like
	lastOfProgram  = 0xef
	ofAdobe        = 0xee
	comment        = 0xfe
)

// A component is a plane of the picture.
type component struct {
	id     byte
	h, v   int // blocks of it in a unit, along and across
	quant  byte
	dc, ac *table
	last   int32 // the first coefficient of the block before
}

// A decoder reads one file.
type decoder struct {
	data  []byte
	at    int
	most  int // pixels
	every int // units from one restart to the next; 0: none

	width, height int
	parts         []component // brightness first
	quants        [4]struct {
		known bool
		by    block // in the order of the file
	}
	tables [2][2]table // of first coefficients and of others
}

// Decode gives the brightness of a JPEG of at most so many pixels, which is image/jpeg's
// byte for byte; false where the file is for image/jpeg to read or to refuse. Rows of
// the picture may be followed by others' pixels, as in image/jpeg's.
func Decode(data []byte, most int) (m *image.Gray, ok bool) {
	if len(data) < 4 || data[0] != 0xff || data[1] != startOfImage {
		return nil, false
	}
	d := &decoder{data: data, at: 2, most: most}
	for {
		marker, body, ok := d.segment()
		if !ok {
			return nil, false
		}
		switch {
		case marker == startOfFrame:
			ok = d.frame(body)
		case marker == huffmanTables:
			ok = d.huffman(body)
		case marker == quantTables:
			ok = d.quantize(body)
		case marker == restartEvery:
			if ok = len(body) == 2; ok {
				d.every = int(binary.BigEndian.Uint16(body))
			}
		case marker == ofAdobe:
			// Red, green and blue are marked so.
			ok = len(body) < 12 || string(body[:5]) != "Adobe" || body[11] != 0
		case marker >= firstOfProgram && marker <= lastOfProgram, marker == comment:
		case marker == startOfScan:
			if !d.begin(body) {
				return nil, false
			}
			return d.scan()
		default:
			ok = false
		}
		if !ok {
			return nil, false
		}
	}
}

// segment reads a marker and what belongs to it.
func (d *decoder) segment() (marker byte, body []byte, ok bool) {
	rest := d.data[d.at:]
	if len(rest) < 4 || rest[0] != 0xff {
		return 0, nil, false
	}
	n := int(binary.BigEndian.Uint16(rest[2:]))
	if n < 2 || 2+n > len(rest) {
		return 0, nil, false
	}
	d.at += 2 + n
	return rest[1], rest[4 : 2+n], true
}

// frame reads size and planes (T.81, B.2.2).
func (d *decoder) frame(body []byte) bool {
	if d.parts != nil || len(body) < 6 || body[0] != 8 {
		return false
	}
	d.height, d.width = int(binary.BigEndian.Uint16(body[1:])), int(binary.BigEndian.Uint16(body[3:]))
	n := int(body[5])
	if d.width == 0 || d.height == 0 || d.width*d.height > d.most || n != 1 && n != 3 || len(body) != 6+3*n {
		return false
	}
	for body = body[6:]; len(body) > 0; body = body[3:] {
		c := component{id: body[0], h: int(body[1] >> 4), v: int(body[1] & 15), quant: body[2]}
		for _, o := range d.parts {
			if o.id == c.id {
				return false
			}
		}
		first := len(d.parts) == 0
		switch {
		case c.quant > 3, c.h < 1, c.v < 1, c.h > 2, c.v > 2, !first && (c.h != 1 || c.v != 1):
			return false
		case n == 1: // then a unit is a block, whatever is said (T.81, A.2.2)
			c.h, c.v = 1, 1
		}
		d.parts = append(d.parts, c)
	}
	return n == 1 || d.parts[0].id != 'R' || d.parts[1].id != 'G' || d.parts[2].id != 'B'
}

// quantize reads what coefficients are multiplied by (T.81, B.2.4.1).
func (d *decoder) quantize(body []byte) bool {
	for ; len(body) > 0; body = body[1+size:] {
		if len(body) < 1+size || body[0] > 3 {
			return false
		}
		q := &d.quants[body[0]]
		q.known = true
		for i, v := range body[1 : 1+size] {
			q.by[i] = int32(v)
		}
	}
	return true
}

// begin reads which tables the one scan uses (T.81, B.2.3).
func (d *decoder) begin(body []byte) bool {
	n := len(d.parts)
	if n == 0 || len(body) != 4+2*n || int(body[0]) != n {
		return false
	}
	for i := range d.parts {
		c, said := &d.parts[i], body[1+2*i:]
		dc, ac := said[1]>>4, said[1]&15
		if said[0] != c.id || dc > 1 || ac > 1 || !d.quants[c.quant].known {
			return false
		}
		c.dc, c.ac = &d.tables[0][dc], &d.tables[1][ac]
		if !c.dc.known || !c.ac.known {
			return false
		}
	}
	end := body[1+2*n:]
	return end[0] == 0 && end[1] == size-1 && end[2] == 0
}
