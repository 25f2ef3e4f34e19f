package pdf

import (
	"encoding/binary"
	"fmt"
	"slices"
)

// A part is a font under way that holds the used letters only, numbered anew.
type part struct {
	font  *Font
	from  []int       // letter n of the part is this letter of the font
	added map[int]int // letters that others are built of: from the font's number to the part's
}

// subset returns a TrueType file with the used letters, letter n under number
// n. The table of names stays, since it carries the copyright and the licence.
func (u *used) subset() ([]byte, error) {
	p := part{font: u.font, from: slices.Clone(u.glyphs), added: map[int]int{}}
	var glyf, loca, hmtx []byte
	// Letters that others are built of are added at the end while it goes on.
	for n := 0; n < len(p.from); n++ {
		loca = binary.BigEndian.AppendUint32(loca, uint32(len(glyf)))
		letter, err := p.letter(p.from[n])
		if err != nil {
			return nil, err
		}
		glyf = append(glyf, letter...)
		for len(glyf)%4 != 0 {
			glyf = append(glyf, 0)
		}
		hmtx = binary.BigEndian.AppendUint16(hmtx, u.font.advance(p.from[n]))
		hmtx = binary.BigEndian.AppendUint16(hmtx, u.font.bearing(p.from[n]))
	}
	loca = binary.BigEndian.AppendUint32(loca, uint32(len(glyf)))
	count := uint16(len(p.from))
	head, hhea, maxp := slices.Clone(u.font.tables["head"]), slices.Clone(u.font.tables["hhea"]), slices.Clone(u.font.tables["maxp"])
	binary.BigEndian.PutUint32(head[8:], 0)  // the file's checksum, set below
	binary.BigEndian.PutUint16(head[50:], 1) // loca counts bytes
	binary.BigEndian.PutUint16(hhea[34:], count)
	binary.BigEndian.PutUint16(maxp[4:], count)
	tables := map[string][]byte{"glyf": glyf, "head": head, "hhea": hhea, "hmtx": hmtx, "loca": loca, "maxp": maxp}
	for _, name := range []string{"cvt ", "fpgm", "prep", "name"} { // the letters' instructions, and the licence
		if t, ok := u.font.tables[name]; ok {
			tables[name] = t
		}
	}
	return assemble(tables), nil
}

// Bits of a component of a composed letter (OpenType, glyf).
const (
	wordArguments = 1 << 0
	oneScale      = 1 << 3
	moreFollow    = 1 << 5
	twoScales     = 1 << 6
	fourScales    = 1 << 7
)

// letter returns a letter's outline, with the letters that it is built of
// numbered anew.
func (p *part) letter(glyph int) ([]byte, error) {
	s := p.font.glyphs[glyph]
	data := p.font.tables["glyf"][s.from:s.to]
	if len(data) == 0 { // a space
		return nil, nil
	}
	if len(data) < 10 {
		return nil, errTooShort
	}
	if int16(be16(data, 0)) >= 0 { // outlines of its own
		return data, nil
	}
	data = slices.Clone(data)
	for at := 10; ; {
		if at+4 > len(data) {
			return nil, errTooShort
		}
		flags, of := be16(data, at), int(be16(data, at+2))
		if of >= len(p.font.glyphs) {
			return nil, fmt.Errorf("%w: letter %d is built of letter %d, which it lacks", ErrFont, glyph, of)
		}
		n, ok := p.added[of]
		if !ok {
			n = len(p.from)
			if n > 0xffff {
				return nil, errTooMany
			}
			p.added[of] = n
			p.from = append(p.from, of)
		}
		binary.BigEndian.PutUint16(data[at+2:], uint16(n))
		at += 6
		if flags&wordArguments != 0 {
			at += 2
		}
		switch {
		case flags&oneScale != 0:
			at += 2
		case flags&twoScales != 0:
			at += 4
		case flags&fourScales != 0:
			at += 8
		}
		if flags&moreFollow == 0 {
			return data, nil
		}
	}
}

// assemble writes a TrueType file (OpenType, Font File): tables in the order of
// their names, each begun on four bytes.
func assemble(tables map[string][]byte) []byte {
	var names []string
	for name := range tables {
		names = append(names, name)
	}
	slices.Sort(names)
	power, log := 1, 0
	for power*2 <= len(names) {
		power, log = power*2, log+1
	}
	out := []byte{0, 1, 0, 0}
	for _, v := range []int{len(names), 16 * power, log, 16 * (len(names) - power)} {
		out = binary.BigEndian.AppendUint16(out, uint16(v))
	}
	at := 12 + 16*len(names)
	var body []byte
	var headAt int
	for _, name := range names {
		t := tables[name]
		if name == "head" {
			headAt = at + len(body)
		}
		out = append(out, name...)
		for _, v := range []uint32{checksum(t), uint32(at + len(body)), uint32(len(t))} {
			out = binary.BigEndian.AppendUint32(out, v)
		}
		body = append(body, t...)
		for len(body)%4 != 0 {
			body = append(body, 0)
		}
	}
	out = append(out, body...)
	binary.BigEndian.PutUint32(out[headAt+8:], 0xb1b0afba-checksum(out))
	return out
}

// checksum is the sum of a table's words (OpenType, Font File).
func checksum(t []byte) (sum uint32) {
	for ; len(t) >= 4; t = t[4:] {
		sum += be32(t, 0)
	}
	var last [4]byte
	copy(last[:], t)
	return sum + binary.BigEndian.Uint32(last[:])
}
