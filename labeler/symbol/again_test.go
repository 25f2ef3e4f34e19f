package symbol_test

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"cribgate/labeler/symbol"
)

// figures are what the encoder may set apart: at the beginning, or seven and more
// (4 + 10 bits of a segment and ten bits for three of them, against eleven for two).
var figures = regexp.MustCompile(`^[0-9]|[0-9]{7}`)

// What is drawn again without an encoder is what the encoder drew, module by module,
// for texts without a run of figures that the encoder may set apart.
func TestAgainIsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := texts().Draw(t, "text")
		s, err := symbol.Encode(text)
		if err != nil {
			t.Fatal(err)
		}
		again, err := symbol.Again(text, symbol.Version, s.Level(), s.Mask())
		if err != nil {
			t.Fatal(err)
		}
		if again != s && !figures.MatchString(text) {
			t.Fatalf("%q at level %s, mask %d is drawn otherwise", text, s.Level(), s.Mask())
		}
		data := symbol.Words(again.Dark, again.Level(), again.Mask())
		var words []byte
		for i, b := range again.Level().Blocks() {
			words = append(words, data[i][:b.Data]...)
		}
		if got, err := says(words); err != nil || got != text {
			t.Fatalf("drawn again it says %q, %v; want %q", got, err, text)
		}
	})
}

// Two tags that hang somewhere look as they were printed, whatever encoder is used
// today. The sums were taken when the first tags were printed.
func TestOldTagsLookAsTheyDid(t *testing.T) {
	body := strings.Repeat("CRIBGATE234567AB", 4)
	for _, c := range []struct {
		text  string
		level symbol.Level
		mask  int
		sum   string
	}{
		{body, symbol.LevelH, 3, "ab204dda53e0decd"},
		{"HTTPS://CRIB.EXAMPLE/" + body, symbol.LevelQ, 6, "e042c24e3637cdba"},
	} {
		s, err := symbol.Again(c.text, symbol.Version, c.level, c.mask)
		if err != nil {
			t.Fatal(err)
		}
		h := sha256.New()
		for row := range symbol.Modules {
			for column := range symbol.Modules {
				fmt.Fprint(h, s.Dark(column, row))
			}
		}
		if got := fmt.Sprintf("%x", h.Sum(nil))[:16]; got != c.sum {
			t.Errorf("%s at level %s, mask %d has the sum %s, want %s", c.text, c.level, c.mask, got, c.sum)
		}
	}
}

func TestAgainRefuses(t *testing.T) {
	body := strings.Repeat("CRIBGATE", 8)
	for name, c := range map[string]struct {
		text          string
		version, mask int
		level         symbol.Level
	}{
		"another version":     {body, 6, 0, symbol.LevelH},
		"no mask":             {body, 5, 8, symbol.LevelH},
		"a mask below none":   {body, 5, -1, symbol.LevelH},
		"another level":       {body, 5, 0, 'M'},
		"a prefix at level H": {"A" + body, 5, 0, symbol.LevelH},
	} {
		if s, err := symbol.Again(c.text, c.version, c.level, c.mask); !errors.Is(err, symbol.ErrDrawing) || s != (symbol.Symbol{}) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := symbol.Again("A", 5, symbol.LevelH, 0); err == nil || errors.Is(err, symbol.ErrDrawing) {
		t.Errorf("a text that is none: %v", err)
	}
}

func BenchmarkAgain(b *testing.B) {
	text := strings.Repeat("CRIBGATE", 8)
	for b.Loop() {
		if _, err := symbol.Again(text, symbol.Version, symbol.LevelH, 5); err != nil {
			b.Fatal(err)
		}
	}
}
