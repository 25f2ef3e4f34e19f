package pdf_test

import (
	"bytes"
	"compress/zlib"
	"errors"
	"fmt"
	"io"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"cribgate/core/quantity"
	"cribgate/labeler/pdf"
)

const mm = quantity.Millimetre

func parse(t testing.TB, name string, file []byte) *pdf.Font {
	t.Helper()
	f, err := pdf.ParseFont(name, file)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// write makes a document of pages that each say one of the texts.
func write(t testing.TB, w io.Writer, info pdf.Info, texts ...string) error {
	t.Helper()
	regular, bold := parse(t, "Go Regular", goregular.TTF), parse(t, "Go Bold", gobold.TTF)
	d := pdf.New(w, info)
	for i, text := range texts {
		p := d.Begin(60*mm, 40*mm)
		p.Ink(pdf.Ink{R: 200, G: 30})
		p.Move(1*mm, 1*mm)
		p.Line(9*mm, 1*mm)
		p.Cube(9*mm, 4*mm, 7*mm, 9*mm, 1*mm, 9*mm)
		p.Fill()
		p.Ink(pdf.Ink{})
		if err := p.Text(regular, 1*mm, 2*mm, 20*mm, text); err != nil {
			return err
		}
		if i%2 == 0 {
			if err := p.Text(bold, 1*mm, 2*mm, 30*mm, text); err != nil {
				return err
			}
		}
		if err := p.End(); err != nil {
			return err
		}
	}
	return d.Close()
}

func document(t testing.TB, info pdf.Info, texts ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(t, &b, info, texts...); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// objects reads a document's table of objects and returns their texts, streams
// unpacked. It is strict: each must begin where the table says.
func objects(t testing.TB, doc []byte) map[int]string {
	t.Helper()
	m := regexp.MustCompile(`startxref\n(\d+)\n%%EOF\n$`).FindSubmatch(doc)
	if m == nil {
		t.Fatal("no end")
	}
	start, _ := strconv.Atoi(string(m[1]))
	lines := strings.SplitAfter(string(doc[start:]), "\n")
	var n int
	if _, err := fmt.Sscanf(lines[0]+lines[1], "xref\n0 %d\n", &n); err != nil {
		t.Fatalf("table: %v", err)
	}
	all := map[int]string{}
	for i := 1; i < n; i++ {
		entry := lines[2+i]
		if len(entry) != 20 || !strings.HasSuffix(entry, " 00000 n \n") {
			t.Fatalf("entry %d of the table: %q", i, entry)
		}
		at, err := strconv.Atoi(entry[:10])
		if err != nil {
			t.Fatal(err)
		}
		head := fmt.Sprintf("%d 0 obj\n", i)
		if !bytes.HasPrefix(doc[at:], []byte(head)) {
			t.Fatalf("object %d is not at %d", i, at)
		}
		all[i] = body(t, doc[at+len(head):])
	}
	return all
}

func body(t testing.TB, from []byte) string {
	t.Helper()
	m := regexp.MustCompile(`^<<.*/Length (\d+)>>stream\n`).FindSubmatch(from)
	if m == nil {
		text, _, ok := bytes.Cut(from, []byte("\nendobj\n"))
		if !ok {
			t.Fatal("object without an end")
		}
		return string(text)
	}
	n, _ := strconv.Atoi(string(m[1]))
	data := from[len(m[0]):]
	if !bytes.HasPrefix(data[n:], []byte("\nendstream\nendobj\n")) {
		t.Fatal("stream is not as long as it says")
	}
	z, err := zlib.NewReader(bytes.NewReader(data[:n]))
	if err != nil {
		t.Fatal(err)
	}
	unpacked, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return string(m[0]) + string(unpacked)
}

func TestDocument(t *testing.T) {
	texts := make([]string, 205) // two full nodes of the page tree, and five
	for i := range texts {
		texts[i] = "page " + strconv.Itoa(i)
	}
	all := objects(t, document(t, pdf.Info{Title: "A (b) \\ ⅞", Language: "en", Producer: "test"}, texts...))
	count := func(pattern string) (n int) {
		re := regexp.MustCompile(pattern)
		for _, o := range all {
			n += len(re.FindAllString(o, -1))
		}
		return n
	}
	for pattern, want := range map[string]int{
		`/Type/Page/`:                205,
		`/Type/Pages/Parent 2 0 R`:   3,
		`/Type/Pages/Count 205/Kids`: 1,
		`/Count 100/Kids`:            2,
		`/Count 5/Kids`:              1,
		// 60 mm and 40 mm in points
		`/MediaBox\[0 0 170\.0787 113\.3858\]`:             205,
		`/PrintScaling/None`:                               1,
		`/Lang<feff0065006e>`:                              1,
		`/Title<feff004100200028006200290020005c0020215e>`: 1,
		`/FontFile2`:                                       2,
		`/ToUnicode`:                                       2,
		`\.7843 \.1176`:                                    0, // 0.7843 with its zero
		`0\.7843 0\.1176 0 rg`:                             205,
		`CreationDate`:                                     0,
	} {
		if got := count(pattern); got != want {
			t.Errorf("%s is there %d times, want %d", pattern, got, want)
		}
	}
}

func TestSamePagesSameBytes(t *testing.T) {
	info := pdf.Info{Title: "T"}
	one, other := document(t, info, "a", "b"), document(t, info, "a", "b")
	if !bytes.Equal(one, other) {
		t.Error("the same pages gave other bytes")
	}
	id := regexp.MustCompile(`/ID\[<(\w{32})><(\w{32})>\]`)
	third := id.FindSubmatch(document(t, info, "a", "c"))
	if m := id.FindSubmatch(one); m == nil || third == nil || string(m[1]) == string(third[1]) {
		t.Errorf("identifiers %q and %q", m, third)
	}
}

func TestRefusals(t *testing.T) {
	f := parse(t, "F", goregular.TTF)
	for name, c := range map[string]struct {
		do   func(*pdf.Writer) error
		want error
	}{
		"no page": {func(d *pdf.Writer) error { return nil }, pdf.ErrEmpty},
		"no letter": {func(d *pdf.Writer) error {
			return d.Begin(mm, mm).Text(f, mm, 0, 0, "a⌀")
		}, pdf.ErrGlyph},
		"not UTF-8": {func(d *pdf.Writer) error {
			return d.Begin(mm, mm).Text(f, mm, 0, 0, "a\xff")
		}, pdf.ErrGlyph},
		"no width":      {func(d *pdf.Writer) error { return d.Begin(0, mm).End() }, pdf.ErrSize},
		"negative":      {func(d *pdf.Writer) error { return d.Begin(mm, -mm).End() }, pdf.ErrSize},
		"too wide":      {func(d *pdf.Writer) error { return d.Begin(200*quantity.Inch+1, mm).End() }, pdf.ErrSize},
		"two at a time": {func(d *pdf.Writer) error { d.Begin(mm, mm); return d.Begin(mm, mm).End() }, pdf.ErrOrder},
		"ended twice":   {func(d *pdf.Writer) error { p := d.Begin(mm, mm); return errors.Join(p.End(), p.End()) }, pdf.ErrOrder},
		"never ended":   {func(d *pdf.Writer) error { d.Begin(mm, mm); return nil }, pdf.ErrOrder},
		"after its end": {func(d *pdf.Writer) error { return errors.Join(d.Begin(mm, mm).End(), d.Close(), d.Begin(mm, mm).End()) }, pdf.ErrClosed},
	} {
		var b bytes.Buffer
		d := pdf.New(&b, pdf.Info{})
		err := c.do(d)
		if name != "no page" && name != "never ended" && !errors.Is(err, c.want) {
			t.Errorf("%s: error %v, want %v", name, err, c.want)
		}
		if err := d.Close(); !errors.Is(err, c.want) {
			t.Errorf("%s: closed with %v, want %v", name, err, c.want)
		}
		if name == "no page" && b.Len() > 0 {
			t.Errorf("%s: wrote %d bytes", name, b.Len())
		}
	}
	if d := pdf.New(io.Discard, pdf.Info{}); d.Begin(200*quantity.Inch, 1).End() != nil {
		t.Error("the largest page is refused")
	}
}

// limited fails after a number of bytes.
type limited struct{ left int }

var errFull = errors.New("no space left")

func (l *limited) Write(p []byte) (int, error) {
	if len(p) > l.left {
		n := l.left
		l.left = 0
		return n, errFull
	}
	l.left -= len(p)
	return len(p), nil
}

// Wherever the disk is full, the error comes out, at the latest of Close.
func TestWriterFails(t *testing.T) {
	texts := make([]string, 300)
	for i := range texts {
		texts[i] = strings.Repeat(strconv.Itoa(i*7919), 40)
	}
	whole := len(document(t, pdf.Info{}, texts...))
	for at := 0; at < whole; at += 1 + whole/50 {
		if err := write(t, &limited{left: at}, pdf.Info{}, texts...); !errors.Is(err, errFull) {
			t.Errorf("full after %d of %d bytes: error %v", at, whole, err)
		}
	}
	if err := write(t, &limited{left: whole}, pdf.Info{}, texts...); err != nil {
		t.Errorf("room for all: %v", err)
	}
}

// What a document holds in memory does not grow with its pages, but for where
// its objects begin: two numbers of eight bytes a page, and what a slice keeps
// in reserve.
func TestMemoryDoesNotGrow(t *testing.T) {
	f := parse(t, "F", goregular.TTF)
	d := pdf.New(io.Discard, pdf.Info{})
	heap := func() int64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return int64(m.HeapAlloc)
	}
	add := func(n int) {
		for i := range n {
			p := d.Begin(60*mm, 40*mm)
			for range 20 {
				if err := p.Text(f, mm, 0, 0, strconv.Itoa(i)); err != nil {
					t.Fatal(err)
				}
			}
			if err := p.End(); err != nil {
				t.Fatal(err)
			}
		}
	}
	add(1000)
	before := heap()
	add(4000)
	if grown := heap() - before; grown > 4000*64 {
		t.Errorf("4,000 pages more hold %d bytes more", grown)
	}
	runtime.KeepAlive(d)
}
