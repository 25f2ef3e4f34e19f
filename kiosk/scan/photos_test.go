package scan

import (
	"errors"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"
	"time"
)

// leastPhotos is how many of the photographs were read when this was measured,
// by set: all 179, where zbarimg reads 156 and ZXingReader 162 of the same.
// CRIBGATE_PHOTOS names a folder with one folder a set, in each of them N.png with
// its text in N.txt.
var leastPhotos = map[string]int{
	"qrcode-1": 20, "qrcode-2": 35, "qrcode-3": 42, "qrcode-4": 48, "qrcode-5": 19, "qrcode-6": 15,
}

// sameSymbol names pictures whose text file is mistaken: the symbol is module for
// module the one of another picture, whose text file is right.
var sameSymbol = map[string]string{"qrcode-2/13": "qrcode-2/12"}

func TestPhotos(t *testing.T) {
	dir := os.Getenv("CRIBGATE_PHOTOS")
	if dir == "" {
		t.Skip("SKIPPED: CRIBGATE_PHOTOS names no folder of photographs, so reading was not measured")
	}
	pictures, err := filepath.Glob(filepath.Join(dir, "*", "*.png"))
	if err != nil || len(pictures) == 0 {
		t.Fatalf("no photographs in %s: %v", dir, err)
	}
	read, all := map[string]int{}, map[string]int{}
	problems := map[Problem]int{}
	var times []time.Duration
	for _, path := range pictures {
		set := filepath.Base(filepath.Dir(path))
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		name := set + "/" + strings.TrimSuffix(filepath.Base(path), ".png")
		if other := sameSymbol[name]; other != "" {
			name = other
		}
		want, err := os.ReadFile(filepath.Join(dir, name+".txt"))
		if err != nil {
			t.Fatal(err)
		}
		all[set]++
		begin := time.Now()
		got, err := Image(data)
		times = append(times, time.Since(begin))
		var problem Problem
		switch {
		case err == nil && got == string(want):
			read[set]++
		case err == nil:
			t.Errorf("%s: read %q, but it says %q", path, got, want)
		case errors.As(err, &problem):
			problems[problem]++
		default:
			t.Errorf("%s: %v is no Problem", path, err)
		}
	}
	sum := 0
	for set, n := range leastPhotos {
		if all[set] < n {
			t.Errorf("%s: only %d photographs", set, all[set])
		}
	}
	for set, n := range all {
		t.Logf("%s: %d of %d", set, read[set], n)
		sum += read[set]
		if read[set] < leastPhotos[set] {
			t.Errorf("%s: %d read, once it was %d", set, read[set], leastPhotos[set])
		}
	}
	sort.Slice(times, func(i, j int) bool { return times[i] < times[j] })
	t.Logf("%d of %d read; not read: %v; a picture took %v in the middle, %v at most", sum, len(pictures), problems,
		times[len(times)/2], times[len(times)-1])
}
