package command

import (
	"maps"
	"slices"
	"testing"

	"cribgate/core/tagcode"
	"cribgate/printtemplates"
)

// A short code comes out of the key and is not to be chosen, so every stock has room
// for whatever it is: each of its characters nine times, the widest of them too.
func TestEveryCodeHasRoom(t *testing.T) {
	stocks, err := printtemplates.OfKind(printtemplates.Tag)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[rune]bool{}
	var codes []string
	for n := range 600 {
		code := tagcode.ShortOf(tagcode.Number(uint64(n)*0x9E3779B97F4A7C15), tagcode.Serial(1+n%1023)).String()
		codes = append(codes, code)
		for _, c := range code {
			seen[c] = true
		}
	}
	for _, c := range slices.Sorted(maps.Keys(seen)) {
		s := string(c)
		codes = append(codes, s+s+s+"-"+s+s+s+"-"+s+s+s)
	}
	if len(seen) < 36 {
		t.Fatalf("only %d characters are tried", len(seen))
	}
	for _, stock := range stocks {
		for _, code := range codes {
			if _, err := previewOf(stock, code); err != nil {
				t.Errorf("%s: %s: %v", stock.Name, code, err)
				break
			}
		}
	}
}
