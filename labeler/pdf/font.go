package pdf

import (
	"encoding/binary"
	"errors"
	"fmt"

	"golang.org/x/image/font/sfnt"
)

// Why a font or a text is refused.
var (
	ErrFont     = errors.New("not a TrueType font that can be embedded")
	ErrLicence  = errors.New("font's licence bits forbid to embed it in part")
	ErrGlyph    = errors.New("font has no such letter")
	errTooMany  = errors.New("more letters of one font than a document can have")
	errTooShort = fmt.Errorf("%w: it ends too early", ErrFont)
)

// A Font is a TrueType font. It is immutable and may be shared by documents and
// goroutines.
type Font struct {
	name   string
	tables map[string][]byte
	lookup *sfnt.Font
	glyphs []span // where each letter lies in the table glyf
	wide   int    // how many letters have an advance of their own
	em     int    // units
}

// span is a part of a table.
type span struct{ from, to uint32 }

// ParseFont reads a TrueType file, whose bytes it keeps. The name is what the
// document calls the font. It fails with ErrFont for what it cannot embed and
// with ErrLicence where the font's own bits do not allow it (OpenType, OS/2
// fsType: restricted, no subsetting, bitmaps only; from memory, not seen).
func ParseFont(name string, file []byte) (*Font, error) {
	f := &Font{name: name, tables: map[string][]byte{}}
	err := f.parse(file)
	if err != nil {
		return nil, fmt.Errorf("pdf: read font %q: %w", name, err)
	}
	return f, nil
}

func (f *Font) parse(file []byte) (err error) {
	if f.lookup, err = sfnt.Parse(file); err != nil {
		return fmt.Errorf("%w: %w", ErrFont, err)
	}
	if err := f.directory(file); err != nil {
		return err
	}
	for name, least := range map[string]int{"head": 54, "hhea": 36, "maxp": 32, "OS/2": 68, "hmtx": 4, "loca": 2, "glyf": 0} {
		if t, ok := f.tables[name]; !ok || len(t) < least {
			return fmt.Errorf("%w: table %s is missing or short", ErrFont, name)
		}
	}
	if bits := be16(f.tables["OS/2"], 8); bits&0x0302 != 0 {
		return fmt.Errorf("%w: %04x", ErrLicence, bits)
	}
	f.em = int(be16(f.tables["head"], 18))
	f.wide = int(be16(f.tables["hhea"], 34))
	if f.em == 0 || f.wide == 0 || len(f.tables["hmtx"]) < 4*f.wide {
		return errTooShort
	}
	return f.locate()
}

// directory finds the tables (OpenType, Font File).
func (f *Font) directory(file []byte) error {
	if len(file) < 12 {
		return errTooShort
	}
	for i := range int(be16(file, 4)) {
		entry := 12 + 16*i
		if entry+16 > len(file) {
			return errTooShort
		}
		at, size := uint64(be32(file, entry+8)), uint64(be32(file, entry+12))
		if at+size > uint64(len(file)) {
			return errTooShort
		}
		f.tables[string(file[entry:entry+4])] = file[at : at+size]
	}
	return nil
}

// locate reads where the letters lie (OpenType, loca).
func (f *Font) locate() error {
	loca, size := f.tables["loca"], uint32(len(f.tables["glyf"]))
	n := int(be16(f.tables["maxp"], 4))
	at := func(i int) uint32 { return 2 * uint32(be16(loca, 2*i)) }
	width := 2
	if be16(f.tables["head"], 50) != 0 {
		at = func(i int) uint32 { return be32(loca, 4*i) }
		width = 4
	}
	if len(loca) < (n+1)*width {
		return errTooShort
	}
	f.glyphs = make([]span, n)
	for i := range f.glyphs {
		s := span{at(i), at(i + 1)}
		if s.from > s.to || s.to > size {
			return fmt.Errorf("%w: letter %d lies outside of it", ErrFont, i)
		}
		f.glyphs[i] = s
	}
	return nil
}

func be16(b []byte, at int) uint16 { return binary.BigEndian.Uint16(b[at:]) }
func be32(b []byte, at int) uint32 { return binary.BigEndian.Uint32(b[at:]) }

// advance is how far a letter moves the pen, in units.
func (f *Font) advance(glyph int) uint16 { return be16(f.tables["hmtx"], 4*min(glyph, f.wide-1)) }

// bearing is the space before a letter, in units.
func (f *Font) bearing(glyph int) uint16 {
	hmtx := f.tables["hmtx"]
	if glyph < f.wide {
		return be16(hmtx, 4*glyph+2)
	}
	if at := 4*f.wide + 2*(glyph-f.wide); at+2 <= len(hmtx) {
		return be16(hmtx, at)
	}
	return 0
}
