package pdf_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"cribgate/core/bounded"
	"cribgate/core/required"
	"cribgate/labeler/pdf"
)

// hostile has what is special in PDF, and letters of three scripts, composed
// ones and fractions among them.
const hostile = `(a)\b)) <<x>> %% /F [0] endstream é ü ½ ⅞ Ω Ж ≤ µ ° × →`

// The embedded part shows each letter as the font does.
func TestEmbeddedLettersAreTheFonts(t *testing.T) {
	all := objects(t, document(t, pdf.Info{}, hostile))
	programs := 0
	for _, o := range all {
		if !strings.Contains(o, "/Length1 ") {
			continue
		}
		programs++
		_, program, _ := strings.Cut(o, "stream\n")
		part, err := sfnt.Parse(withNoWords(t, []byte(program)))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(utf16Only(program), "licen") {
			t.Error("the font's licence is not in the part")
		}
		if !strings.Contains(o, "/Length1 ") || part.NumGlyphs() < len(letters(hostile)) {
			t.Errorf("%d letters of %d", part.NumGlyphs(), len(letters(hostile)))
		}
		whole := wholeOf(t, all, program)
		if whole == nil {
			continue
		}
		ppem := fixed.Int26_6(2048 << 6)
		var one, other sfnt.Buffer
		for i, r := range letters(hostile) {
			index, err := whole.GlyphIndex(&one, r)
			if err != nil {
				t.Fatal(err)
			}
			want, err := whole.LoadGlyph(&one, index, ppem, nil)
			if err != nil {
				t.Fatal(err)
			}
			got, err := part.LoadGlyph(&other, sfnt.GlyphIndex(i+1), ppem, nil)
			if err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(append(sfnt.Segments{}, want...), append(sfnt.Segments{}, got...)) {
				t.Errorf("%q is drawn otherwise", r)
			}
			w, _ := whole.GlyphAdvance(&one, index, ppem, font.HintingNone)
			if g, err := part.GlyphAdvance(&other, sfnt.GlyphIndex(i+1), ppem, font.HintingNone); err != nil || g != w {
				t.Errorf("%q moves the pen by %v, want %v (%v)", r, g, w, err)
			}
		}
	}
	if programs != 2 {
		t.Errorf("%d fonts are embedded, want 2", programs)
	}
}

// letters are a text's, each once, as they come.
func letters(text string) (all []rune) {
	for _, r := range text {
		if !slices.Contains(all, r) {
			all = append(all, r)
		}
	}
	return all
}

// wholeOf is the font that a part is of; nil for the bold one, which is not
// compared.
func wholeOf(t *testing.T, _ map[int]string, program string) *sfnt.Font {
	t.Helper()
	if strings.Contains(utf16Only(program), "Go Bold") {
		return nil
	}
	f, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// utf16Only drops zero bytes, so that names in UTF-16 can be searched.
func utf16Only(s string) string { return strings.ReplaceAll(s, "\x00", "") }

// withNoWords adds the table cmap that the library wants and a PDF does not:
// without any entry.
func withNoWords(t *testing.T, file []byte) []byte {
	t.Helper()
	type table struct {
		name string
		data []byte
	}
	n := int(binary.BigEndian.Uint16(file[4:]))
	tables := []table{
		{"OS/2", make([]byte, 96)},
		// One subtable of format 4 with the segment that ends the list.
		{"cmap", []byte{0, 0, 0, 1, 0, 3, 0, 1, 0, 0, 0, 12, 0, 4, 0, 24, 0, 0, 0, 2, 0, 2, 0, 0, 0, 0, 0xff, 0xff, 0, 0, 0xff, 0xff, 0, 1, 0, 0}},
		{"post", append([]byte{0, 3, 0, 0}, make([]byte, 28)...)},
	}
	for i := range n {
		e := file[12+16*i:]
		at, size := binary.BigEndian.Uint32(e[8:]), binary.BigEndian.Uint32(e[12:])
		tables = append(tables, table{string(e[:4]), file[at : at+size]})
	}
	slices.SortFunc(tables, func(a, b table) int { return strings.Compare(a.name, b.name) })
	out := append([]byte{}, file[:4]...)
	out = binary.BigEndian.AppendUint16(out, uint16(len(tables)))
	out = append(out, make([]byte, 6)...)
	at := 12 + 16*len(tables)
	var data []byte
	for _, x := range tables {
		out = append(out, x.name...)
		for _, v := range []int{0, at + len(data), len(x.data)} {
			out = binary.BigEndian.AppendUint32(out, uint32(v))
		}
		data = append(data, x.data...)
		for len(data)%4 != 0 {
			data = append(data, 0)
		}
	}
	return append(out, data...)
}

// Two letters that look alike and share an outline in the font come back each
// as itself.
func TestUnicodeComesBack(t *testing.T) {
	all := objects(t, document(t, pdf.Info{}, "aµμ∆Δ"))
	for _, o := range all {
		if !strings.Contains(o, "beginbfchar") {
			continue
		}
		for code, unicode := range map[string]string{"0001": "0061", "0002": "00b5", "0003": "03bc", "0004": "2206", "0005": "0394"} {
			if !strings.Contains(o, "<"+code+"><"+unicode+">") {
				t.Errorf("code %s does not mean U+%s in %s", code, unicode, o)
			}
		}
		return
	}
	t.Error("no map back to Unicode")
}

func TestParseFontRefuses(t *testing.T) {
	bits := func(v uint16) []byte {
		file := slices.Clone(goregular.TTF)
		for i := range int(binary.BigEndian.Uint16(file[4:])) {
			if e := file[12+16*i:]; string(e[:4]) == "OS/2" {
				binary.BigEndian.PutUint16(file[binary.BigEndian.Uint32(e[8:])+8:], v)
			}
		}
		return file
	}
	for name, c := range map[string]struct {
		file []byte
		want error
	}{
		"empty":             {nil, pdf.ErrFont},
		"half":              {goregular.TTF[:len(goregular.TTF)/2], pdf.ErrFont},
		"restricted":        {bits(0x0002), pdf.ErrLicence},
		"no subsetting":     {bits(0x0100), pdf.ErrLicence},
		"bitmaps only":      {bits(0x0200), pdf.ErrLicence},
		"preview and print": {bits(0x0004), nil},
		"editable":          {bits(0x0008), nil},
	} {
		f, err := pdf.ParseFont("F", c.file)
		if !errors.Is(err, c.want) || (err == nil) != (f != nil) {
			t.Errorf("%s: %v, error %v, want %v", name, f != nil, err, c.want)
		}
	}
}

// FuzzFont: a font of which some bytes are others is refused or embedded, and
// nothing panics. Four bytes of the patch are a place and what stands there.
func FuzzFont(f *testing.F) {
	seeds := []struct {
		patch []byte
		text  string
	}{
		{nil, "a"},
		{[]byte{0, 0, 5, 1}, "é"}, // another number of tables
		{[]byte{2, 0, 94, 0xff, 2, 0, 95, 0xff}, "é½"},
		{nil, hostile},
	}
	if len(seeds) != 4 {
		f.Fatalf("%d seeds, want 4", len(seeds))
	}
	for _, s := range seeds {
		f.Add(s.patch, s.text)
	}
	f.Fuzz(func(t *testing.T, patch []byte, text string) {
		bounded.Run(t, time.Now, 64<<20, func() {
			file := slices.Clone(goregular.TTF)
			for ; len(patch) >= 4; patch = patch[4:] {
				file[int(binary.BigEndian.Uint32(patch)>>8)%len(file)] = patch[3]
			}
			font, err := pdf.ParseFont("F", file)
			if err != nil {
				return
			}
			d := pdf.New(io.Discard, pdf.Info{})
			p := d.Begin(mm, mm)
			if err := p.Text(font, mm, 0, 0, text); err != nil {
				return
			}
			if err := p.End(); err != nil {
				t.Fatal(err)
			}
			if err := d.Close(); err != nil && !errors.Is(err, pdf.ErrFont) {
				t.Error(err)
			}
		})
	})
}

// Another program finds the text as it was given, and nothing to complain of.
func TestOtherProgramsReadText(t *testing.T) {
	path := filepath.Join(t.TempDir(), "hostile.pdf")
	doc := document(t, pdf.Info{Title: "A (b) \\ ⅞ Ж", Language: "en", Producer: "test"}, hostile, "second")
	if err := os.WriteFile(path, doc, 0o644); err != nil {
		t.Fatal(err)
	}
	run := func(name string, args ...string) string {
		cmd := exec.Command(required.Program(t, name), args...)
		var warned bytes.Buffer
		cmd.Stderr = &warned
		out, err := cmd.Output()
		if err != nil || warned.Len() > 0 {
			t.Errorf("%s: %v %s", name, err, warned.String())
		}
		return string(out)
	}
	if out := run("pdftotext", "-raw", path, "-"); strings.Count(out, hostile) != 2 || strings.Count(out, "second") != 1 {
		t.Errorf("pdftotext says %q", out)
	}
	run("qpdf", "--check", path)
	if out := run("pdfinfo", path); !regexp.MustCompile(`Title: +A \(b\) \\ ⅞ Ж\n`).MatchString(out) || !strings.Contains(out, "170.079 x 113.386 pts") {
		t.Errorf("pdfinfo says %q", out)
	}
	fonts := strings.Split(strings.TrimSpace(run("pdffonts", path)), "\n")
	if len(fonts) != 4 {
		t.Fatalf("fonts: %q", fonts)
	}
	for _, line := range fonts[2:] {
		if f := strings.Fields(line); !strings.Contains(line, "CID TrueType") || f[len(f)-5] != "yes" || f[len(f)-4] != "yes" || f[len(f)-3] != "yes" {
			t.Errorf("font %q is not embedded in part with its Unicode map", line)
		}
	}
}
