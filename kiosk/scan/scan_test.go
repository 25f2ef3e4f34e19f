package scan

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/common/reedsolomon"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
	"github.com/makiuchi-d/gozxing/qrcode/encoder"
	qrencode "github.com/skip2/go-qrcode"

	"cribgate/core/bounded"
)

var (
	rounds   = flag.Int("rounds", 1, "how many times over the long tests run")
	seedFlag = flag.Uint64("seed", 0, "seed of the random tests; 0 draws one")
)

// symbolOf draws a text as a symbol of the given version and level, each module a
// square of scale pixels, with its quiet zone.
func symbolOf(t testing.TB, text string, version int, level qrencode.RecoveryLevel, scale int) *image.Gray {
	t.Helper()
	q, err := qrencode.NewWithForcedVersion(text, version, level)
	if err != nil {
		t.Fatal(err)
	}
	grid := q.Bitmap()
	return draw(len(grid), scale, func(x, y int) bool { return grid[y][x] })
}

func draw(modules, scale int, dark func(x, y int) bool) *image.Gray {
	m := image.NewGray(image.Rect(0, 0, modules*scale, modules*scale))
	for y := range modules * scale {
		for x := range modules * scale {
			if !dark(x/scale, y/scale) {
				m.Pix[y*m.Stride+x] = 255
			}
		}
	}
	return m
}

// inverted is the plane with light and dark changed over.
func (p plane) inverted() plane {
	out := plane{width: p.width, height: p.height, pix: make([]byte, len(p.pix))}
	for i, v := range p.pix {
		out.pix[i] = 255 - v
	}
	return out
}

func encodePNG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func wants(t *testing.T, data []byte, want string) {
	t.Helper()
	if got, err := Image(data); err != nil || got != want {
		t.Errorf("read %.60q, %v; want %.60q", got, err, want)
	}
}

func fails(t *testing.T, data []byte, want Problem) {
	t.Helper()
	if got, err := Image(data); !errors.Is(err, want) || got != "" {
		t.Errorf("read %.60q, %v; want %v", got, err, want)
	}
}

const tagText = "AEBAGBAFAYDQQCIKBMGA2DQPCAIREEYUCULBOGAZDINRYHI6D4QCCIRDEQSSMJZI"

func TestEveryVersion(t *testing.T) {
	for version := 1; version <= 40; version++ {
		text := fmt.Sprintf("V%d", version)
		wants(t, encodePNG(t, symbolOf(t, text, version, qrencode.High, 3)), text)
	}
}

func TestTagSizedSymbol(t *testing.T) {
	for _, level := range []qrencode.RecoveryLevel{qrencode.Low, qrencode.Medium, qrencode.High, qrencode.Highest} {
		for _, scale := range []int{2, 3, 5, 12} {
			wants(t, encodePNG(t, symbolOf(t, tagText, 5, level, scale)), tagText)
		}
	}
	wants(t, encodePNG(t, symbolOf(t, tagText, 5, qrencode.High, 45)), tagText) // 4 million pixels: looked at in half size
}

// 2,953 bytes are the most that a symbol holds (ISO/IEC 18004, version 40, level
// L; from memory, not seen).
func TestLargestSymbol(t *testing.T) {
	var b strings.Builder
	for b.Len() < 2953 {
		fmt.Fprintf(&b, "%d, ", b.Len())
	}
	text := b.String()[:2953]
	wants(t, encodePNG(t, symbolOf(t, text, 40, qrencode.Low, 4)), text)
}

func TestTexts(t *testing.T) {
	for _, text := range []string{"0", "https://example.org/a?b=c", "Kette größer ½ 3/8", "a\x00b\x1b[2J\r\n", "鎖", " "} {
		wants(t, encodePNG(t, symbolOf(t, text, 5, qrencode.Medium, 4)), text)
	}
}

func TestEmptySymbol(t *testing.T) {
	fails(t, encodePNG(t, emptySymbol(t)), EmptySymbol)
}

// emptySymbol is a symbol of version 1 whose one segment has no bytes: no encoder
// makes it.
func emptySymbol(t testing.TB) *image.Gray {
	t.Helper()
	words := make([]int, 26) // version 1, level L: 19 of data, 7 of correction
	words[0] = 0x40          // byte mode, count 0, end
	for i := 2; i < 19; i++ {
		words[i] = [2]int{0xec, 0x11}[i%2]
	}
	if err := reedsolomon.NewReedSolomonEncoder(reedsolomon.GenericGF_QR_CODE_FIELD_256).Encode(words, 7); err != nil {
		t.Fatal(err)
	}
	bits := gozxing.NewEmptyBitArray()
	for _, w := range words {
		if err := bits.AppendBits(w, 8); err != nil {
			t.Fatal(err)
		}
	}
	version, err := decoder.Version_GetVersionForNumber(1)
	if err != nil {
		t.Fatal(err)
	}
	grid := encoder.NewByteMatrix(21, 21)
	if err := encoder.MatrixUtil_buildMatrix(bits, decoder.ErrorCorrectionLevel_L, version, 0, grid); err != nil {
		t.Fatal(err)
	}
	return draw(29, 5, func(x, y int) bool {
		x, y = x-4, y-4
		return x >= 0 && y >= 0 && x < 21 && y < 21 && grid.Get(x, y) == 1
	})
}

func TestFormats(t *testing.T) {
	m := symbolOf(t, tagText, 5, qrencode.High, 6)
	b := m.Bounds()
	paletted := image.NewPaletted(b, color.Palette{color.Black, color.White})
	rgba, nrgba, deep, cmyk := image.NewRGBA(b), image.NewNRGBA(b), image.NewGray16(b), image.NewCMYK(b)
	clear := image.NewNRGBA(b) // dark modules on nothing
	for y := range b.Dy() {
		for x := range b.Dx() {
			g := m.GrayAt(x, y)
			paletted.Set(x, y, g)
			rgba.Set(x, y, g)
			nrgba.Set(x, y, g)
			deep.Set(x, y, g)
			cmyk.Set(x, y, g)
			if g.Y == 0 {
				clear.Set(x, y, color.Black)
			}
		}
	}
	for name, kind := range map[string]image.Image{"gray": m, "paletted": paletted, "rgba": rgba, "nrgba": nrgba, "gray16": deep,
		"transparent": clear} {
		t.Run("png "+name, func(t *testing.T) { wants(t, encodePNG(t, kind), tagText) })
	}
	for name, kind := range map[string]image.Image{"gray": m, "rgba": rgba} {
		t.Run("jpeg "+name, func(t *testing.T) {
			var out bytes.Buffer
			if err := jpeg.Encode(&out, kind, &jpeg.Options{Quality: 60}); err != nil {
				t.Fatal(err)
			}
			wants(t, out.Bytes(), tagText)
		})
	}
	t.Run("gif, first of two frames", func(t *testing.T) {
		blank := image.NewPaletted(b, paletted.Palette)
		var out bytes.Buffer
		if err := gif.EncodeAll(&out, &gif.GIF{Image: []*image.Paletted{paletted, blank}, Delay: []int{0, 0}}); err != nil {
			t.Fatal(err)
		}
		wants(t, out.Bytes(), tagText)
	})
	if got, _, err := find(context.Background(), brightness(cmyk), fullEffort, 0); err != nil || got.text != tagText {
		t.Errorf("CMYK: %q, %v", got.text, err)
	}
	// A part of a larger picture keeps the stride of the whole.
	part := image.NewGray(image.Rect(0, 0, b.Dx()+40, b.Dy()+30))
	for y := range b.Dy() {
		copy(part.Pix[(y+20)*part.Stride+13:], m.Pix[y*m.Stride:y*m.Stride+b.Dx()])
	}
	cut := part.SubImage(image.Rect(13, 20, 13+b.Dx(), 20+b.Dy()))
	if got, _, err := find(context.Background(), brightness(cut), fullEffort, 0); err != nil || got.text != tagText {
		t.Errorf("part of a picture: %q, %v", got.text, err)
	}
}

func TestTurnedMirroredInverted(t *testing.T) {
	m := symbolOf(t, tagText, 5, qrencode.High, 5)
	n := m.Bounds().Dx()
	for name, from := range map[string]func(x, y int) (int, int){
		"quarter turn":       func(x, y int) (int, int) { return y, n - 1 - x },
		"half turn":          func(x, y int) (int, int) { return n - 1 - x, n - 1 - y },
		"three quarter turn": func(x, y int) (int, int) { return n - 1 - y, x },
		"mirrored":           func(x, y int) (int, int) { return n - 1 - x, y },
	} {
		out := image.NewGray(m.Bounds())
		for y := range n {
			for x := range n {
				out.SetGray(x, y, m.GrayAt(from(x, y)))
			}
		}
		t.Run(name, func(t *testing.T) { wants(t, encodePNG(t, out), tagText) })
	}
	p := brightness(m).inverted()
	wants(t, encodePNG(t, &image.Gray{Pix: p.pix, Stride: p.width, Rect: image.Rect(0, 0, p.width, p.height)}), tagText)
}

// Wiping out modules between the corners is mended up to a point, and told beyond
// it.
func TestDamage(t *testing.T) {
	m := symbolOf(t, tagText, 5, qrencode.High, 6) // a quarter of the words may be wrong
	wiped := func(rows int) []byte {
		out := image.NewGray(m.Bounds())
		copy(out.Pix, m.Pix)
		for y := 14 * 6; y < (14+rows)*6; y++ {
			for x := 12 * 6; x < 33*6; x++ {
				out.Pix[y*out.Stride+x] = 255
			}
		}
		return encodePNG(t, out)
	}
	wants(t, wiped(3), tagText)
	fails(t, wiped(22), DamagedSymbol)
}

func TestNoSymbol(t *testing.T) {
	blank := image.NewGray(image.Rect(0, 0, 300, 200))
	fails(t, encodePNG(t, blank), NoSymbol)
	fails(t, encodePNG(t, image.NewGray(image.Rect(0, 0, 1, 1))), NoSymbol)
	fails(t, encodePNG(t, image.NewGray(image.Rect(0, 0, 3000, 1))), NoSymbol)
}

func TestBadFiles(t *testing.T) {
	whole := encodePNG(t, symbolOf(t, tagText, 5, qrencode.High, 6))
	cut := whole[:len(whole)/2]
	flipped := bytes.Clone(whole)
	flipped[len(flipped)/2] ^= 0xff
	var photo bytes.Buffer
	if err := jpeg.Encode(&photo, symbolOf(t, tagText, 5, qrencode.High, 6), nil); err != nil {
		t.Fatal(err)
	}
	scans := append(bytes.Clone(photo.Bytes()[:len(photo.Bytes())-2]), bytes.Repeat([]byte{0xff, 0xda}, maxScans+1)...)
	large := bytes.Repeat([]byte("\x89PNG\r\n\x1a\n"), MaxBytes/8+1)
	for _, c := range []struct {
		name string
		data []byte
		want Problem
	}{
		{"nothing", nil, NotAnImage},
		{"text", []byte("this is a letter"), NotAnImage},
		{"PDF", []byte("%PDF-1.7\n"), NotAnImage},
		{"SVG", []byte("<svg xmlns='http://www.w3.org/2000/svg'/>"), NotAnImage},
		{"TIFF", []byte("II*\x00\x08\x00\x00\x00"), NotAnImage},
		{"RIFF that is no picture", []byte("RIFF\x00\x00\x00\x00WAVEfmt "), NotAnImage},
		{"too many bytes", large, TooManyBytes},
		{"header only", whole[:8], DamagedImage},
		{"PNG cut short", cut, DamagedImage},
		{"PNG with one byte wrong", flipped, DamagedImage},
		{"JPEG cut short", photo.Bytes()[:len(photo.Bytes())/2], DamagedImage},
		{"JPEG with very many scans", scans, DamagedImage},
		{"GIF header", []byte("GIF89a\x10\x00\x10\x00\x00\x00\x00"), DamagedImage},
		{"WebP header", []byte("RIFF\x10\x00\x00\x00WEBPVP8 \x00\x00\x00\x00"), DamagedImage},
		{"50 million pixels", header(10_000, 5_000, 8, 0), TooManyPixels},
		{"one row more than 40 million", header(40_000_001, 1, 8, 0), TooManyPixels},
		{"as many as there can be", header(1<<31-1, 1<<31-1, 8, 0), DamagedImage}, // the decoder's own limit
		{"21 million deep pixels", header(21_000_000, 1, 16, 6), TooManyPixels},
		{"40 million pixels and no more of the file", header(8_000, 5_000, 8, 0), DamagedImage},
	} {
		t.Run(c.name, func(t *testing.T) { fails(t, c.data, c.want) })
	}
}

// header is the beginning of a PNG that claims this size, depth and colour type.
func header(width, height uint32, depth, kind byte) []byte {
	be := func(n uint32) []byte { return []byte{byte(n >> 24), byte(n >> 16), byte(n >> 8), byte(n)} }
	chunk := append([]byte("IHDR"), be(width)...)
	chunk = append(append(chunk, be(height)...), depth, kind, 0, 0, 0)
	out := append([]byte("\x89PNG\r\n\x1a\n"), be(13)...)
	return append(append(out, chunk...), be(crc(chunk))...)
}

// crc is the check of a PNG chunk (PNG specification, annex D).
func crc(data []byte) uint32 {
	c := ^uint32(0)
	for _, b := range data {
		c ^= uint32(b)
		for range 8 {
			c = c>>1 ^ 0xedb88320*(c&1)
		}
	}
	return ^c
}

// A picture full of what looks like corners of symbols: the library tries every
// three of them, which for some thousands takes hours.
func TestPictureFullOfCorners(t *testing.T) {
	const each, across = 9, 100 // modules, the space between included
	m := draw(each*across, 3, func(x, y int) bool {
		x, y = x%each, y%each
		ring := max(max(x, 6-x), max(y, 6-y)) // 3 in the middle, 6 at the edge
		return x < 7 && y < 7 && ring != 5
	})
	ended := make(chan error, 1)
	go func() {
		_, err := Image(encodePNG(t, m))
		ended <- err
	}()
	select {
	case err := <-ended:
		if !errors.Is(err, NoSymbol) && !errors.Is(err, DamagedSymbol) {
			t.Errorf("got %v", err)
		}
	case <-time.After(time.Minute):
		t.Fatal("still looking after a minute")
	}
}

func TestProblemsHaveWords(t *testing.T) {
	seen := map[string]bool{}
	for p := Problem(1); p < lastProblem; p++ {
		for _, text := range []string{p.Sentence(), p.Next()} {
			if !strings.HasSuffix(text, ".") {
				t.Errorf("%v says %q", p, text)
			}
		}
		if seen[p.Sentence()] || seen[p.Error()] {
			t.Errorf("%v says what another says", p)
		}
		seen[p.Sentence()], seen[p.Error()] = true, true
	}
	for _, p := range []Problem{0, lastProblem, 255} {
		if p.Sentence() == "" || p.Next() == "" || p.Error() == "" {
			t.Errorf("problem %d says nothing", p)
		}
	}
}

func TestReaderTakesTurns(t *testing.T) {
	r := NewReader(0)
	if cap(r.slots) != 1 {
		t.Errorf("%d slots", cap(r.slots))
	}
	r.slots <- struct{}{}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := r.Read(ctx, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("gone while waiting: %v", err)
	}
	<-r.slots
	data := encodePNG(t, symbolOf(t, tagText, 5, qrencode.High, 4))
	if _, err := r.Read(ctx, data); !errors.Is(err, context.Canceled) {
		t.Errorf("gone, with a free slot: %v", err)
	}
	var wg sync.WaitGroup
	for range 20 {
		wg.Go(func() {
			if got, err := r.Read(t.Context(), data); err != nil || got != tagText {
				t.Errorf("%q, %v", got, err)
			}
		})
	}
	wg.Wait()
}

// Random bytes after each magic, and pictures of noise: always a Problem, never a
// text, never a panic.
func TestNoise(t *testing.T) {
	seed := *seedFlag
	if seed == 0 {
		seed = rand.Uint64()
	}
	t.Logf("again with: go test ./kiosk/scan -run %s -seed %d", t.Name(), seed)
	random := rand.New(rand.NewPCG(seed, 1))
	for _, magic := range []string{"", "\x89PNG\r\n\x1a\n", "\xff\xd8\xff", "GIF89a", "RIFF\x00\x00\x00\x00WEBPVP8L"} {
		for range 200 {
			data := []byte(magic)
			for range random.IntN(400) {
				data = append(data, byte(random.Uint32()))
			}
			if text, err := Image(data); err == nil {
				t.Errorf("random bytes read as %q", text)
			}
		}
	}
	for range 20 {
		m := image.NewGray(image.Rect(0, 0, 64+random.IntN(300), 64+random.IntN(300)))
		for i := range m.Pix {
			m.Pix[i] = byte(random.Uint32())
		}
		if text, err := Image(encodePNG(t, m)); err == nil {
			t.Errorf("noise read as %q", text)
		}
	}
}

func FuzzImage(f *testing.F) {
	whole := encodePNG(f, symbolOf(f, tagText, 5, qrencode.High, 2))
	seeds := [][]byte{nil, whole, whole[:100], header(10_000, 5_000, 8, 0), []byte("GIF89a"), []byte("RIFF\x00\x00\x00\x00WEBPVP8 "),
		encodePNG(f, emptySymbol(f))}
	if len(seeds) != 7 {
		f.Fatal("a seed is missing")
	}
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		bounded.Run(t, time.Now, 512<<20, func() {
			text, err := Image(data)
			var p Problem
			if err != nil && (!errors.As(err, &p) || !p.known() || text != "") {
				t.Errorf("%q, %v", text, err)
			}
			if err == nil && text == "" {
				t.Error("no text and no problem")
			}
		})
	})
}

// BenchmarkImage reads a tag of 640 × 480 as a camera sends it.
func BenchmarkImage(b *testing.B) {
	m := symbolOf(b, tagText, 5, qrencode.High, 8)
	frame := image.NewGray(image.Rect(0, 0, 640, 480))
	for i := range frame.Pix {
		frame.Pix[i] = 200
	}
	for y := range m.Bounds().Dy() {
		copy(frame.Pix[(y+40)*frame.Stride+120:], m.Pix[y*m.Stride:(y+1)*m.Stride])
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, frame, nil); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Image(out.Bytes()); err != nil {
			b.Fatal(err)
		}
	}
}

// TestASymbolThatTheLibraryMissesReads: this text, drawn flat and sharp, is one
// of those that the library does not find along one axis.
func TestASymbolThatTheLibraryMissesReads(t *testing.T) {
	const text = "BXLJR7G2S6D3UVR7LXFVDGT546EMPAJF2YEF7OYCF66AUQSH7RCWSKZSLHA3BJL5"
	if got, err := Image(encodePNG(t, symbolOf(t, text, 5, qrencode.Highest, 5))); err != nil || got != text {
		t.Errorf("%q, %v", got, err)
	}
}

// TestEveryCleanSymbolReads draws symbols of random tag texts as a labeller
// would, flat and sharp: the library alone misses some of them.
func TestEveryCleanSymbolReads(t *testing.T) {
	const alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567" // RFC 4648 section 6
	seed := uint64(20260302)
	random := rand.New(rand.NewPCG(seed, 0))
	for n := range 400 * *rounds {
		text := make([]byte, 64)
		for i := range text {
			text[i] = alphabet[random.IntN(len(alphabet))]
		}
		data := encodePNG(t, symbolOf(t, string(text), 5, qrencode.Highest, 5))
		if got, err := Image(data); err != nil || got != string(text) {
			t.Errorf("seed %d, symbol %d, %s: %q, %v", seed, n, text, got, err)
		}
	}
}
