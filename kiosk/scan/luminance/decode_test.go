package luminance

import (
	"bytes"
	"image"
	"image/jpeg"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
)

const plenty = 1 << 20 // pixels

// same holds what was read against image/jpeg, which must read it as well. Another Go
// than 1.26 may round otherwise, by one.
func same(t rapid.TB, data []byte, m *image.Gray) {
	t.Helper()
	decoded, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatalf("it was read, and image/jpeg says %v", err)
	}
	if decoded.Bounds() != m.Bounds() {
		t.Fatalf("%v, by image/jpeg %v", m.Bounds(), decoded.Bounds())
	}
	off := 1
	if strings.HasPrefix(runtime.Version(), "go1.26") {
		off = 0
	}
	for y := range m.Rect.Dy() {
		for x := range m.Rect.Dx() {
			want := 0
			switch d := decoded.(type) {
			case *image.YCbCr:
				want = int(d.Y[d.YOffset(x, y)])
			case *image.Gray:
				want = int(d.GrayAt(x, y).Y)
			default:
				t.Fatalf("image/jpeg gives %T", d)
			}
			if got := int(m.GrayAt(x, y).Y); max(got-want, want-got) > off {
				t.Fatalf("at %d, %d it is %d, by image/jpeg %d", x, y, got, want)
			}
		}
	}
}

// TestAsTheLibraryReads: whatever is right by the standard and of the kind that is
// read here is read, and as image/jpeg reads it.
func TestAsTheLibraryReads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := &writer{
			random: rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)),
			width:  rapid.IntRange(1, 70).Draw(t, "width"), height: rapid.IntRange(1, 50).Draw(t, "height"),
			h: rapid.IntRange(1, 2).Draw(t, "along"), v: rapid.IntRange(1, 2).Draw(t, "down"),
			grey: rapid.Bool().Draw(t, "grey"), every: rapid.IntRange(0, 5).Draw(t, "restarts"),
			most: rapid.IntRange(1, 10).Draw(t, "bits"), few: rapid.IntRange(0, size).Draw(t, "coefficients"),
		}
		data := w.file()
		m, ok := Decode(data, plenty)
		if !ok {
			t.Fatal("it was not read")
		}
		same(t, data, m)
	})
}

// photo is a picture with edges, slopes, colours and noise, as the library writes it.
func photo(t testing.TB, width, height, quality int) []byte {
	t.Helper()
	random := rand.New(rand.NewPCG(1, 2))
	m := image.NewYCbCr(image.Rect(0, 0, width, height), image.YCbCrSubsampleRatio444)
	for i := range m.Y {
		x, y := i%width, i/width
		shade := 60 + 100*float64(x)/float64(width) + 4*random.NormFloat64()
		if x/8%3 == 0 && y/8%2 == 0 && x > width/3 && y > height/3 {
			shade -= 50
		}
		m.Y[i], m.Cb[i], m.Cr[i] = byte(shade), byte(100+60*y/height), byte(120+x%16)
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, m, &jpeg.Options{Quality: quality}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// TestPhotos: what the library writes is read, at every quality, and not where there
// are more pixels than are allowed.
func TestPhotos(t *testing.T) {
	for quality := 1; quality <= 100; quality += 9 {
		data := photo(t, 203, 117, quality)
		m, ok := Decode(data, 203*117)
		if !ok {
			t.Fatalf("quality %d: it was not read", quality)
		}
		same(t, data, m)
		if _, ok := Decode(data, 203*117-1); ok {
			t.Fatal("more pixels than are allowed")
		}
	}
}

// TestLeftToTheLibrary: what is of another kind, unusual or damaged is not read.
func TestLeftToTheLibrary(t *testing.T) {
	whole := photo(t, 40, 24, 80)
	if _, ok := Decode(whole, plenty); !ok {
		t.Fatal("it was not read to begin with")
	}
	at := func(marker byte) int { return bytes.Index(whole, []byte{0xff, marker}) }
	changed := func(at int, to ...byte) []byte {
		data := bytes.Clone(whole)
		copy(data[at:], to)
		return data
	}
	put := func(at int, what string) []byte {
		return bytes.Join([][]byte{whole[:at], []byte(what), whole[at:]}, nil)
	}
	frame, end := at(startOfFrame), len(whole)-2
	for name, data := range map[string][]byte{
		"nothing":            nil,
		"two bytes":          whole[:2],
		"progressive":        changed(frame+1, 0xc2),
		"twelve bits":        changed(frame+4, 12),
		"no height":          changed(frame+5, 0, 0),
		"two planes":         changed(frame+9, 2),
		"four to one":        changed(frame+11, 0x41),
		"colours as large":   changed(frame+14, 0x22),
		"red, green, blue":   put(2, "\xff\xee\x00\x0eAdobe\x00\x64\x00\x00\x00\x00\x00"),
		"a filled marker":    put(frame, "\xff"),
		"no tables":          append(whole[:2:2], whole[frame:]...),
		"cut short":          whole[:end],
		"cut in the scan":    whole[:end-20],
		"more in the scan":   put(end, "\x00\x00"),
		"a second scan":      put(end, "\xff\xda\x00\x02"),
		"a restart too many": put(end, "\xff\xd0"),
		"part of a scan":     changed(at(startOfScan)+12, 5),
	} {
		if _, ok := Decode(data, plenty); ok {
			t.Errorf("%s: it was read", name)
		}
	}
	for cut := range whole {
		if _, ok := Decode(whole[:cut], plenty); ok {
			t.Errorf("%d of %d bytes: it was read", cut, len(whole))
		}
	}
}

// FuzzDecode: whatever comes in, there is no panic and no other picture than
// image/jpeg's.
func FuzzDecode(f *testing.F) {
	seeds := [][]byte{photo(f, 40, 24, 80), photo(f, 9, 9, 30)}
	for seed := range uint64(6) {
		w := &writer{random: rand.New(rand.NewPCG(seed, 3)), width: 30, height: 20, h: 1 + int(seed)%2, v: 1 + int(seed)/2%2,
			grey: seed == 5, every: int(seed) % 3, most: 6, few: 10}
		seeds = append(seeds, w.file())
	}
	if len(seeds) != 8 {
		f.Fatal("a seed is missing")
	}
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		bounded.Run(t, time.Now, 64<<20, func() {
			if m, ok := Decode(data, plenty); ok {
				same(t, data, m)
			}
		})
	})
}

// BenchmarkDecode reads a frame of a camera here and by image/jpeg.
func BenchmarkDecode(b *testing.B) {
	data := photo(b, 1280, 720, 85)
	for name, read := range map[string]func() bool{
		"here":       func() bool { _, ok := Decode(data, plenty); return ok },
		"image/jpeg": func() bool { _, err := jpeg.Decode(bytes.NewReader(data)); return err == nil },
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(1280 * 720)
			for b.Loop() {
				if !read() {
					b.Fatal("it was not read")
				}
			}
		})
	}
}
