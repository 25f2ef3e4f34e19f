package symbol_test

import (
	"errors"
	"image"
	"image/color"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"pgregory.net/rapid"

	"cribgate/labeler/symbol"
)

const body = "CDEFGHIJKLMNOPQRSTUVWXYZ234567ABCDEFGHIJKLMNOPQRSTUVWXYZ234567AB"

func TestEncodeSizes(t *testing.T) {
	// Room of version 5 in the alphanumeric mode, ISO/IEC 18004 (from memory,
	// not seen): 64 at level H, 87 at level Q.
	prefix := strings.Repeat("P", symbol.MaxPrefix)
	for _, c := range []struct {
		text  string
		level symbol.Level
		size  int // of the refusal, 0 = none
	}{
		{body[:63], 0, 63},
		{body, symbol.LevelH, 0},
		{"A" + body, symbol.LevelQ, 0},
		{prefix + body, symbol.LevelQ, 0},
		{prefix + "P" + body, 0, 88},
		{"", 0, -1},
	} {
		s, err := symbol.Encode(c.text)
		if c.size != 0 {
			var e *symbol.SizeError
			if !errors.As(err, &e) || e.Len != max(c.size, 0) {
				t.Errorf("Encode of %d characters: error %v, want a size refusal", len(c.text), err)
			}
			if s != (symbol.Symbol{}) {
				t.Errorf("Encode of %d characters: a symbol beside the error", len(c.text))
			}
			continue
		}
		if err != nil {
			t.Errorf("Encode of %d characters: %v", len(c.text), err)
			continue
		}
		if s.Level() != c.level || s.Text() != c.text {
			t.Errorf("Encode of %d characters: level %s, text %q", len(c.text), s.Level(), s.Text())
		}
	}
}

func TestEncodeCharacters(t *testing.T) {
	for _, c := range []struct {
		text string
		at   int // -1 = allowed
	}{
		{"HTTPS://H.EXAMPLE/" + body, -1},
		{" $%*+-./:" + body, -1},
		{"https://H.EXAMPLE/" + body, 0}, // lower case is not in the mode's set
		{"A_" + body, 1},
		{"0" + body[1:], 0}, // Base32 has no 0, 1, 8, 9
		{"1" + body[1:], 0},
		{body[:63] + "8", 63},
		{body[:63] + "=", 63},
		{"AB" + body[:63] + "a", 65},
		{body[:62] + "é", 62},
	} {
		_, err := symbol.Encode(c.text)
		var e *symbol.CharError
		switch {
		case c.at < 0 && err != nil:
			t.Errorf("Encode(%q): %v", c.text, err)
		case c.at >= 0 && (!errors.As(err, &e) || e.At != c.at):
			t.Errorf("Encode(%q): error %v, want a refusal at %d", c.text, err, c.at)
		}
	}
}

// draw gives the symbol as a picture, scale pixels to a module, with its quiet
// zone.
func draw(s symbol.Symbol, scale int) image.Image {
	side := (symbol.Modules + 2*symbol.QuietZone) * scale
	img := image.NewGray(image.Rect(0, 0, side, side))
	for y := range side {
		for x := range side {
			shade := color.Gray{Y: 255}
			if s.Dark(x/scale-symbol.QuietZone, y/scale-symbol.QuietZone) {
				shade.Y = 0
			}
			img.SetGray(x, y, shade)
		}
	}
	return img
}

func texts() *rapid.Generator[string] {
	tail := rapid.StringOfN(rapid.RuneFrom([]rune("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567")), symbol.BodyLen, symbol.BodyLen, -1)
	// Runs of digits tempt an encoder into a second segment.
	digits := rapid.StringOfN(rapid.RuneFrom([]rune("234567")), symbol.BodyLen, symbol.BodyLen, -1)
	mixed := rapid.Custom(func(t *rapid.T) string {
		n := rapid.IntRange(0, symbol.BodyLen).Draw(t, "digits")
		return digits.Draw(t, "d")[:n] + tail.Draw(t, "t")[n:]
	})
	head := rapid.StringOfN(rapid.RuneFrom([]rune("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")), 0, symbol.MaxPrefix, -1)
	return rapid.Custom(func(t *rapid.T) string {
		text := rapid.OneOf(tail, digits, mixed).Draw(t, "body")
		if rapid.Bool().Draw(t, "prefixed") {
			text = head.Draw(t, "prefix") + text
		}
		return text
	})
}

// pure tells the reader that there is nothing but the symbol: its search for a
// symbol in a picture fails on some clean ones, which is not what is tested.
var pure = map[gozxing.DecodeHintType]interface{}{gozxing.DecodeHintType_PURE_BARCODE: true}

// Whatever is encoded is read back by another library, at the level stated.
func TestReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := texts().Draw(t, "text")
		s, err := symbol.Encode(text)
		if err != nil {
			t.Fatalf("Encode(%q): %v", text, err)
		}
		bitmap, err := gozxing.NewBinaryBitmapFromImage(draw(s, 4))
		if err != nil {
			t.Fatal(err)
		}
		got, err := qrcode.NewQRCodeReader().Decode(bitmap, pure)
		if err != nil {
			t.Fatalf("read %q back: %v", text, err)
		}
		if got.GetText() != text {
			t.Fatalf("read back %q, want %q", got.GetText(), text)
		}
		level := got.GetResultMetadata()[gozxing.ResultMetadataType_ERROR_CORRECTION_LEVEL]
		if level != s.Level().String() {
			t.Fatalf("reader says level %v, symbol %s", level, s.Level())
		}
		if s.Mask() < 0 || s.Mask() > 7 {
			t.Fatalf("mask %d", s.Mask())
		}
	})
}

func BenchmarkEncode(b *testing.B) {
	for b.Loop() {
		if _, err := symbol.Encode(body); err != nil {
			b.Fatal(err)
		}
	}
}
