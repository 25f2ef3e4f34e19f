package pdf

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/image/font/sfnt"
)

// A used font is one in a document: its letters are numbered as they come.
type used struct {
	font    *Font
	index   int // /F0, /F1 …
	number  int // of the object
	glyphs  []int
	letters []rune // beside glyphs
	ascii   [utf8.RuneSelf]uint16
	others  map[rune]uint16
}

func (w *Writer) use(f *Font) *used {
	for _, u := range w.fonts {
		if u.font == f {
			return u
		}
	}
	// Code 0 is the letter that stands for a missing one; it is never set.
	u := &used{font: f, index: len(w.fonts), number: w.reserve(), glyphs: []int{0}, letters: []rune{0}, others: map[rune]uint16{}}
	w.fonts = append(w.fonts, u)
	return u
}

// code is the number by which the document sets a letter.
func (u *used) code(r rune) (uint16, error) {
	if r >= 0 && r < utf8.RuneSelf {
		if c := u.ascii[r]; c > 0 {
			return c, nil
		}
	} else if c := u.others[r]; c > 0 {
		return c, nil
	}
	var buf sfnt.Buffer
	glyph, err := u.font.lookup.GlyphIndex(&buf, r)
	if err != nil {
		return 0, fmt.Errorf("find %q: %w", r, err)
	}
	if glyph == 0 || r == utf8.RuneError || int(glyph) >= len(u.font.glyphs) {
		return 0, fmt.Errorf("%w: %q (U+%04X)", ErrGlyph, r, r)
	}
	if len(u.glyphs) > 0xffff {
		return 0, errTooMany
	}
	code := uint16(len(u.glyphs))
	u.glyphs, u.letters = append(u.glyphs, int(glyph)), append(u.letters, r)
	if r < utf8.RuneSelf {
		u.ascii[r] = code
	} else {
		u.others[r] = code
	}
	return code, nil
}

// embed writes the fonts, and the resources of all pages, which name them.
func (w *Writer) embed() {
	list := []byte("<</ProcSet[/PDF/Text]/Font<<")
	for _, u := range w.fonts {
		if err := w.font(u); err != nil {
			w.fail(fmt.Errorf("pdf: embed font %q: %w", u.font.name, err))
		}
		list = fmt.Appendf(list, "/F%d %d 0 R", u.index, u.number)
	}
	list = append(list, ">>/XObject<<"...)
	for _, s := range w.stamps {
		list = fmt.Appendf(list, "/S%d %d 0 R", s.index, s.number)
	}
	w.object(resources, append(list, ">>>>"...))
}

// font writes one font: a CIDFontType2 whose codes are the letters' places in
// the embedded part (ISO 32000-1, 9.7).
func (w *Writer) font(u *used) error {
	program, err := u.subset()
	if err != nil {
		return err
	}
	f := u.font
	per := func(units uint16) string { // in thousandths of the em
		return string(decimal(nil, float64(int16(units))*1000/float64(f.em)))
	}
	name := u.name(program)
	below, descriptor, file, back := w.reserve(), w.reserve(), w.reserve(), w.reserve()
	w.object(u.number, fmt.Appendf(nil, "<</Type/Font/Subtype/Type0/BaseFont/%s/Encoding/Identity-H/DescendantFonts[%d 0 R]/ToUnicode %d 0 R>>",
		name, below, back))
	widths := []byte("0[")
	for _, glyph := range u.glyphs {
		widths = append(append(widths, per(f.advance(glyph))...), ' ')
	}
	w.object(below, fmt.Appendf(nil, "<</Type/Font/Subtype/CIDFontType2/BaseFont/%s/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>"+
		"/FontDescriptor %d 0 R/CIDToGIDMap/Identity/W[%s]]>>", name, descriptor, widths))
	head, hhea, os2 := f.tables["head"], f.tables["hhea"], f.tables["OS/2"]
	capitals := be16(hhea, 4)
	if len(os2) >= 90 && be16(os2, 0) >= 2 {
		capitals = be16(os2, 88)
	}
	// How bold the stems are follows from the weight (common practice, no source).
	weight := int(be16(os2, 4))
	w.object(descriptor, fmt.Appendf(nil, "<</Type/FontDescriptor/FontName/%s/Flags 32/ItalicAngle 0/FontBBox[%s %s %s %s]"+
		"/Ascent %s/Descent %s/CapHeight %s/StemV %d/FontFile2 %d 0 R>>",
		name, per(be16(head, 36)), per(be16(head, 38)), per(be16(head, 40)), per(be16(head, 42)),
		per(be16(hhea, 4)), per(be16(hhea, 6)), per(capitals), 50+weight*weight/4225, file))
	w.stream(file, fmt.Appendf(nil, "/Length1 %d", len(program)), program)
	w.stream(back, nil, u.toUnicode())
	return nil
}

// name is the font's name after six letters that tell its part from others
// (ISO 32000-1, 9.6.4), taken from the part itself.
func (u *used) name(program []byte) string {
	sum := sha256.Sum256(program)
	tag := make([]byte, 6)
	for i := range tag {
		tag[i] = 'A' + sum[i]%26
	}
	// Spaces and other signs have a meaning in a PDF name.
	plain := slices.DeleteFunc([]byte(u.font.name), func(c byte) bool {
		return (c < '0' || c > '9') && (c < 'A' || c > 'Z') && (c < 'a' || c > 'z') && c != '-'
	})
	return string(tag) + "+" + string(plain)
}

// toUnicode writes the way back from codes to text (ISO 32000-1, 9.10.3).
func (u *used) toUnicode() []byte {
	var b bytes.Buffer
	b.WriteString("/CIDInit/ProcSet findresource begin 12 dict begin begincmap\n" +
		"/CIDSystemInfo<</Registry(Adobe)/Ordering(UCS)/Supplement 0>>def/CMapName/Adobe-Identity-UCS def/CMapType 2 def\n" +
		"1 begincodespacerange<0000><ffff>endcodespacerange\n")
	const most = 100 // entries in one list
	for from := 1; from < len(u.letters); from += most {
		part := u.letters[from:min(from+most, len(u.letters))]
		b.WriteString(strconv.Itoa(len(part)) + " beginbfchar\n")
		for i, r := range part {
			code := from + i
			line := append(hex.AppendEncode([]byte("<"), []byte{byte(code >> 8), byte(code)}), "><"...)
			for _, unit := range utf16.Encode([]rune{r}) {
				line = hex.AppendEncode(line, []byte{byte(unit >> 8), byte(unit)})
			}
			b.Write(append(line, ">\n"...))
		}
		b.WriteString("endbfchar\n")
	}
	b.WriteString("endcmap CMapName currentdict/CMap defineresource pop end end\n")
	return b.Bytes()
}
