package web

import (
	"maps"
	"math"
	"regexp"
	"strconv"
	"testing"
)

// contrast is the ratio of two colours by the formula of WCAG 2.2 ("contrast
// ratio" and "relative luminance").
func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	la, lb := luminance(t, a), luminance(t, b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(t *testing.T, colour string) float64 {
	t.Helper()
	n, err := strconv.ParseUint(colour[1:], 16, 32)
	if err != nil || len(colour) != 7 {
		t.Fatalf("%q is no colour", colour)
	}
	part := func(shift uint) float64 {
		c := float64(n>>shift&0xff) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*part(16) + 0.7152*part(8) + 0.0722*part(0)
}

// The formula itself, against published and computed vectors.
func TestContrastFormula(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want float64
	}{
		{"#000000", "#ffffff", 21}, {"#767676", "#ffffff", 4.542}, {"#777777", "#ffffff", 4.478},
		{"#949494", "#ffffff", 3.033}, {"#959595", "#ffffff", 2.995}, {"#595959", "#ffffff", 7.005}, {"#5a5a5a", "#ffffff", 6.897},
		{"#9b2423", "#ffffff", 7.864}, {"#f9a800", "#000000", 10.629}, {"#005387", "#ffffff", 8.117},
	} {
		if got := contrast(t, c.a, c.b); math.Abs(got-c.want) > 0.001 {
			t.Errorf("%s on %s: %.3f, want %.3f", c.a, c.b, got, c.want)
		}
	}
}

var token = regexp.MustCompile(`--([a-z-]+): (#[0-9a-f]{6});`)

// palettes reads the colours of day and night out of the style sheet.
func palettes(t *testing.T) (day, night map[string]string) {
	t.Helper()
	css, err := staticFiles.ReadFile("static/look.css")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile(`(?s):root[^{]*\{(.*?)\}`).FindAllStringSubmatch(string(css), -1)
	if len(blocks) != 3 {
		t.Fatalf("%d blocks of colours, want day, night of the device, night chosen", len(blocks))
	}
	read := func(block string) map[string]string {
		out := map[string]string{}
		for _, m := range token.FindAllStringSubmatch(block, -1) {
			out[m[1]] = m[2]
		}
		return out
	}
	day, night = read(blocks[0][1]), read(blocks[1][1])
	if !maps.Equal(night, read(blocks[2][1])) {
		t.Error("night differs between the device's wish and the switch")
	}
	for name := range day {
		if night[name] == "" {
			t.Errorf("night has no %s", name)
		}
	}
	return day, night
}

// TestContrast checks every pair of colours that meets: 4.5:1 for text (SC 1.4.3),
// 3:1 for what must be told apart to use a page (SC 1.4.11).
func TestContrast(t *testing.T) {
	text := [][2]string{
		{"ink", "paper"}, {"ink", "sheet"}, {"on-ink", "ink"}, {"quiet", "paper"}, {"quiet", "sheet"},
		{"on-steel", "steel"}, {"quiet-steel", "steel"}, {"on-stop", "stop"}, {"on-go", "go"}, {"on-look", "look"},
		{"on-must", "must"}, {"wrong", "paper"}, {"wrong", "sheet"},
	}
	shape := [][2]string{
		{"edge", "paper"}, {"edge", "sheet"}, {"ink", "paper"}, {"link", "paper"}, {"link", "sheet"}, {"link", "steel"},
		{"stop", "paper"}, {"stop", "sheet"}, {"go", "paper"}, {"go", "sheet"}, {"must", "paper"}, {"must", "sheet"},
	}
	day, night := palettes(t)
	for light, palette := range map[string]map[string]string{"day": day, "night": night} {
		for _, pair := range text {
			check(t, light, palette, pair, 4.5)
		}
		for _, pair := range shape {
			check(t, light, palette, pair, 3)
		}
	}
	// Nothing outside the palette: no colour is written into a rule.
	css, err := staticFiles.ReadFile("static/look.css")
	if err != nil {
		t.Fatal(err)
	}
	if got, want := len(regexp.MustCompile(`#[0-9a-fA-F]{3,8}\b`).FindAll(css, -1)), len(day)+2*len(night); got != want {
		t.Errorf("%d colours in look.css, %d in its palettes", got, want)
	}
}

func check(t *testing.T, light string, palette map[string]string, pair [2]string, least float64) {
	t.Helper()
	a, b := palette[pair[0]], palette[pair[1]]
	if a == "" || b == "" {
		t.Errorf("%s: no colour %v", light, pair)
		return
	}
	if got := contrast(t, a, b); got < least {
		t.Errorf("%s: %s on %s is %.2f, want %.1f", light, pair[0], pair[1], got, least)
	}
}
