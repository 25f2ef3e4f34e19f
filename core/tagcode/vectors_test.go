package tagcode

import (
	_ "embed"
	"fmt"
	"strings"
	"testing"
)

//go:embed testdata/vectors.txt
var vectors string

// TestVectors holds what is written and what is read against codes that were
// computed elsewhere.
func TestVectors(t *testing.T) {
	k := testKey(t)
	f := k.Fingerprint()
	count := 0
	for line := range strings.Lines(vectors) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		count++
		var kind, name, date, text string
		var n uint64
		for i, into := range []any{&kind, &name, &n, &date, &text} {
			column := strings.Split(strings.TrimSuffix(line, "\n"), "\t")[i]
			if s, ok := into.(*string); ok {
				*s = column
			} else if _, err := fmt.Sscan(column, into); err != nil {
				t.Fatalf("%s: %v", line, err)
			}
		}
		if got, err := KindOf(text); err != nil || got.String() != kind {
			t.Errorf("%s: is a %s, %v", line, got, err)
		}
		var wrote interface{ Text() string }
		var read, want any
		var err, no, forged error
		switch kind {
		case "tag":
			want = sample(k)
			wrote, err = sample(k).Seal(k)
			back, e := Parse(text)
			read, no, forged = back.Tag, e, back.Verify(k)
		case "badge":
			b := Badge{Key: f, Person: NumberOf(f, name), Serial: Serial(n), Until: day(t, date)}
			want = b
			wrote, err = b.Seal(k)
			back, e := ParseBadge(text)
			read, no, forged = back.Badge, e, back.Verify(k)
		case "slip":
			s := Slip{Key: f, Sling: NumberOf(f, name), No: uint32(n), Until: day(t, date)}
			want = s
			wrote, err = s.Seal(k)
			back, e := ParseSlip(text)
			read, no, forged = back.Slip, e, back.Verify(k)
		case "head":
			h := Head{At: int64(n), Hash: hashOf(t, name)}
			want, wrote = h, headText{h}
			read, no = ParseHead(text)
		}
		if err != nil || wrote.Text() != text {
			t.Errorf("%swritten as %v, %v", line, wrote, err)
		}
		if no != nil || forged != nil || read != want {
			t.Errorf("%sread as %+v, %v, %v", line, read, no, forged)
		}
	}
	if count != 11 {
		t.Errorf("%d vectors, want 11", count)
	}
}
