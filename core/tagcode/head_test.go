package tagcode

import (
	"encoding/hex"
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
)

func sampleHead() Head {
	return Head{At: 17, Hash: [32]byte{0x3f, 0x2a, 0x9c, 0x01, 31: 0xfe}}
}

// headText is a head whose text is written like that of the other kinds: empty
// where it has none.
type headText struct{ Head }

func (h headText) Text() string {
	text, err := h.Head.Text()
	if err != nil {
		return ""
	}
	return text
}

func hashOf(t testing.TB, digits string) (h [32]byte) {
	t.Helper()
	b, err := hex.DecodeString(digits)
	if err != nil || copy(h[:], b) != len(h) {
		t.Fatalf("%q is no hash: %v", digits, err)
	}
	return h
}

func TestHeadLimits(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*Head)
		ok     bool
	}{
		"the sample":        {func(*Head) {}, true},
		"position -1":       {func(h *Head) { h.At = -1 }, false},
		"position 0":        {func(h *Head) { h.At = 0 }, false},
		"position 1":        {func(h *Head) { h.At = 1 }, true},
		"the last position": {func(h *Head) { h.At = 1<<40 - 1 }, true},
		"one more":          {func(h *Head) { h.At = 1 << 40 }, false},
		"no hash":           {func(h *Head) { h.Hash = [32]byte{} }, false},
		"hardly a hash":     {func(h *Head) { h.Hash = [32]byte{31: 1} }, true},
	} {
		h := sampleHead()
		c.change(&h)
		text, err := h.Text()
		if (err == nil) != c.ok || (h.Check() == nil) != c.ok || len(text) != 0 != c.ok {
			t.Errorf("%s: %q, %v", name, text, err)
			continue
		}
		if back, err := ParseHead(text); c.ok && (err != nil || back != h || len(text) != Length) {
			t.Errorf("%s: read back %+v, %v", name, back, err)
		}
		if kind, err := KindOf(text); c.ok && (kind != KindHead || err != nil) {
			t.Errorf("%s: kind %q, %v", name, kind, err)
		}
	}
}

func TestNoHead(t *testing.T) {
	good := headText{sampleHead()}.Text()
	raw := func(from byte, at int) string {
		b := make([]byte, 40)
		b[7], b[39] = 17, 1
		b[at] |= from
		return base32Text.EncodeToString(b)
	}
	for name, c := range map[string]struct {
		text string
		want error
	}{
		"nothing":               {"", ErrNotTag},
		"half":                  {good[:32], ErrNotTag},
		"a character more":      {good + "A", ErrNotTag},
		"small letters":         {strings.ToLower(good), ErrNotTag},
		"a line feed":           {good[:40] + "\n" + good[40:], ErrNotTag},
		"behind a prefix":       {"HTTPS://CRIB.EXAMPLE/" + good, ErrMalformed},
		"the third byte":        {raw(1, 2), ErrMalformed},
		"the first byte":        {raw(1, 0), ErrMalformed},
		"in format 1":           {raw(0x10, 0), ErrMalformed},
		"in a newer format":     {raw(0x20, 0), ErrNewer},
		"no bit at all":         {strings.Repeat("A", Length), ErrMalformed},
		"a position and a hash": {raw(0, 0), nil},
	} {
		h, err := ParseHead(c.text)
		kind, no := KindOf(c.text)
		if !errors.Is(err, c.want) || !errors.Is(no, c.want) || (kind == KindHead) != (c.want == nil) || c.want != nil && h != (Head{}) {
			t.Errorf("%s: %+v, %v; a %q, %v; want %v", name, h, err, kind, no, c.want)
		}
	}
}

// TestHeadsAreNoOtherKind draws heads: no other reader takes one, and no change of
// a character makes it the code of a sling or a person.
func TestHeadsAreNoOtherKind(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := Head{At: rapid.Int64Range(1, MaxPosition).Draw(t, "at")}
		copy(h.Hash[:], rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(t, "hash"))
		h.Hash[31] |= 1
		text := headText{h}.Text()
		if kind := checkText(t, text); kind != KindHead {
			t.Errorf("%+v is a %q", h, kind)
		}
		if shown, err := ParseShownHead(text); err != nil || shown.At != h.At || !shown.Holds(h.Hash) || shown != h.Shown(64) {
			t.Errorf("%+v is shown as %v, %v", h, shown, err)
		}
		if back, err := ParseShownHead(h.String()); err != nil || back != h.Shown(8) || !back.Holds(h.Hash) {
			t.Errorf("%v is read as %v, %v", h, back, err)
		}
	})
}

func TestShownHead(t *testing.T) {
	h := sampleHead()
	full := hex.EncodeToString(h.Hash[:])
	if s := h.String(); s != "17 3f2a9c01" {
		t.Errorf("shown as %q", s)
	}
	for _, text := range []string{
		"17 3f2a9c01", "17 3F2A9C01", " 17  3f2a 9c01\n", "17 3f2a9c0100", "17 " + full,
		"17 " + strings.ToUpper(full[:32]) + " " + full[32:], headText{h}.Text(),
	} {
		s, err := ParseShownHead(text)
		if err != nil || s.At != 17 || !s.Holds(h.Hash) {
			t.Errorf("%q: %v, %v", text, s, err)
		}
		again, err := ParseShownHead(s.String())
		if err != nil || again != s {
			t.Errorf("%q: again %v, %v", text, again, err)
		}
	}
	for _, text := range []string{
		"", "17", "17 ", "17 3f2a9c0", "17 " + full + "0", "0 3f2a9c01", "017 3f2a9c01", "-17 3f2a9c01", "+17 3f2a9c01",
		"1099511627776 3f2a9c01", "3f2a9c01", "17,3f2a9c01", "17 3f2a9c0g", "seventeen 3f2a9c01",
		strings.Repeat(" ", 300) + "17 3f2a9c01", "HTTPS://CRIB.EXAMPLE/" + headText{h}.Text(),
	} {
		if s, err := ParseShownHead(text); !errors.Is(err, ErrHead) || s != (ShownHead{}) {
			t.Errorf("%q: %v, %v", text, s, err)
		}
	}
	other := h.Hash
	other[3]++ // the eighth digit
	if s := h.Shown(8); s.Holds(other) || (ShownHead{}).Holds([32]byte{}) {
		t.Error("another hash holds")
	}
	other = h.Hash
	other[31]++
	if !h.Shown(8).Holds(other) || h.Shown(64).Holds(other) {
		t.Error("the last digits are not told apart by the full hash, or are by eight digits")
	}
	if h.Shown(0).Digits != full[:8] || h.Shown(100).Digits != full {
		t.Error("the number of digits is not kept within 8 to 64")
	}
}

func FuzzShownHead(f *testing.F) {
	seeds := []string{"17 3f2a9c01", "17 3F2A 9C01", headText{sampleHead()}.Text(), "1099511627775 ffffffff", "0 00000000", ""}
	if len(seeds) != 6 {
		f.Fatalf("%d seeds, want 6", len(seeds))
	}
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		bounded.Run(t, time.Now, 1<<20, func() {
			s, err := ParseShownHead(text)
			if err != nil {
				if s != (ShownHead{}) || !errors.Is(err, ErrHead) {
					t.Fatalf("%v with %v", err, s)
				}
				return
			}
			if again, err := ParseShownHead(s.String()); err != nil || again != s || s.At < 1 || len(s.Digits) < 8 || len(s.Digits) > 64 {
				t.Fatalf("%q: %v, again %v, %v", text, s, again, err)
			}
		})
	})
}
