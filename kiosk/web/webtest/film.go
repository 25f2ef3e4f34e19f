package webtest

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"cribgate/core/required"
	"cribgate/labeler/symbol"
)

// filmRate is how many pictures of such a film Chromium shows in a second, whatever it
// is told (tried).
const filmRate = 30

// A Shown is a while of a film: the text of the symbol that is held before the
// camera, or none.
type Shown struct {
	Text string
	Worn bool // so many of its modules have turned over that it cannot be read
	For  time.Duration
}

// Filming opens a browser of the test's own, whose camera plays a film. Each address in
// homes, such as http://crib.test:8480, is trusted as https would be, so that its pages
// have a camera.
func Filming(t testing.TB, film string, homes ...string) *Browser {
	t.Helper()
	if testing.Short() {
		t.Skip("-short looks at no page in a browser")
	}
	b, end, err := open(required.Program(t, wholeBrowser),
		chromedp.Flag("use-fake-device-for-media-stream", true),
		chromedp.Flag("use-fake-ui-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-video-capture", film),
		chromedp.Flag("unsafely-treat-insecure-origin-as-secure", strings.Join(homes, ",")),
	)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(end)
	return b
}

// Film writes a film of tags for [Filming] and returns its file. It begins when a page
// opens the camera, and begins again at its end.
func Film(t testing.TB, shown ...Shown) string {
	t.Helper()
	var film bytes.Buffer
	for _, s := range shown {
		var picture bytes.Buffer
		held := Held(t, s.Text, image.Pt(640, 480), 8)
		if s.Worn {
			wear(held, 8)
		}
		if err := jpeg.Encode(&picture, held, &jpeg.Options{Quality: 85}); err != nil {
			t.Fatalf("film: %v", err)
		}
		for range max(1, int(s.For.Seconds()*filmRate)) {
			film.Write(picture.Bytes())
		}
	}
	file := filepath.Join(t.TempDir(), "film.mjpeg")
	if err := os.WriteFile(file, film.Bytes(), 0o600); err != nil {
		t.Fatalf("film: %v", err)
	}
	return file
}

// Held draws a tag before a grey wall: its symbol in the middle, so many pixels to a
// module. Without a text it is the wall alone.
func Held(t testing.TB, text string, size image.Point, pixels int) *image.Gray {
	t.Helper()
	m := image.NewGray(image.Rectangle{Max: size})
	for y := range size.Y {
		for x := range size.X {
			m.Pix[y*m.Stride+x] = byte(90 + 40*x/size.X + 20*y/size.Y)
		}
	}
	if text == "" {
		return m
	}
	modules := gridOf(t, text)
	side := (len(modules) + 2*symbol.QuietZone) * pixels
	corner := image.Pt((size.X-side)/2, (size.Y-side)/2)
	draw.Draw(m, image.Rectangle{corner, corner.Add(image.Pt(side, side))}, image.NewUniform(color.Gray{Y: 225}), image.Point{}, draw.Src)
	for y, row := range modules {
		for x, dark := range row {
			if dark {
				at := corner.Add(image.Pt((x+symbol.QuietZone)*pixels, (y+symbol.QuietZone)*pixels))
				draw.Draw(m, image.Rectangle{at, at.Add(image.Pt(pixels, pixels))}, image.NewUniform(color.Gray{Y: 30}), image.Point{}, draw.Src)
			}
		}
	}
	return m
}

// wear turns over every fourteenth module of the codewords of a tag that is held so,
// here and there: of a version 5 symbol that spoils two in five codewords, where three
// in ten can be mended.
func wear(m *image.Gray, pixels int) {
	side := (symbol.Modules + 2*symbol.QuietZone) * pixels
	corner := m.Bounds().Size().Sub(image.Pt(side, side)).Div(2)
	chance := rand.New(rand.NewPCG(14, 0))
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			if _, ok := symbol.CodewordOf(column, row); !ok || chance.IntN(14) > 0 {
				continue
			}
			at := corner.Add(image.Pt((column+symbol.QuietZone)*pixels, (row+symbol.QuietZone)*pixels))
			for y := at.Y; y < at.Y+pixels; y++ {
				for x := at.X; x < at.X+pixels; x++ {
					m.SetGray(x, y, color.Gray{Y: 255 - m.GrayAt(x, y).Y})
				}
			}
		}
	}
}

// gridOf is the symbol of a tag's text, or of any other.
func gridOf(t testing.TB, text string) [][]bool {
	t.Helper()
	s, err := symbol.Encode(text)
	if err != nil {
		modules, err := symbol.Link(text)
		if err != nil {
			t.Fatalf("film: %v", err)
		}
		return modules
	}
	modules := make([][]bool, symbol.Modules)
	for y := range modules {
		modules[y] = make([]bool, symbol.Modules)
		for x := range modules[y] {
			modules[y][x] = s.Dark(x, y)
		}
	}
	return modules
}
