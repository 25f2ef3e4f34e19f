package grade_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/required"
	"cribgate/core/tagcode"
	"cribgate/kiosk/scan"
	"cribgate/labeler/grade"
	"cribgate/labeler/print"
	"cribgate/labeler/render"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// What is good enough to be confirmed, two programs that know nothing of us read
// alike.
func TestOthersReadWhatConfirms(t *testing.T) {
	zbar, zxing := required.Program(t, "zbarimg"), required.Program(t, "ZXingReader")
	random := chance(t)
	text := regexp.MustCompile(`(?m)^Text: +"(.*)"$`)
	confirmed := 0
	for i, c := range []camera{{}, {pixels: 4}, {turn: 33, pixels: 7}, {blur: 0.2, noise: 5}, {dark: 0.15, bright: 0.6}, {keystone: 0.03},
		{stretch: 0.09}, {shade: 0.35}, {gamma: 1.6}, {turn: 181, noise: 10}, {pixels: 12, turn: 265}} {
		for _, wrong := range []int{0, 3, 4, 6} { // C at level H from 6 wrong codewords in a block on
			want := encode(t, [2]string{bare, prefixed}[i%2])
			s := sceneOf(want)
			spoil(s, random, want.Level(), wrong%symbol.Blocks, wrong)
			picture := c.shoot(t, s)
			r, read := reported(picture, want)
			if !read || !r.Confirms() {
				continue
			}
			confirmed++
			file := filepath.Join(t.TempDir(), "print.png")
			if err := os.WriteFile(file, picture, 0o600); err != nil {
				t.Fatal(err)
			}
			if out, err := exec.Command(zbar, "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", file).Output(); err != nil || strings.TrimSuffix(string(out), "\n") != want.Text() {
				t.Errorf("%+v, %d wrong, grade %s: zbarimg reads %q, %v", c, wrong, r.Overall(), out, err)
			}
			out, err := exec.Command(zxing, file).Output()
			if m := text.FindSubmatch(out); err != nil || m == nil || string(m[1]) != want.Text() {
				t.Errorf("%+v, %d wrong, grade %s: ZXingReader says %q, %v", c, wrong, r.Overall(), out, err)
			}
		}
	}
	t.Logf("%d prints confirm", confirmed)
	if confirmed < 30 {
		t.Errorf("only %d of 44 prints confirm", confirmed)
	}
}

// What the labeller draws is an A wherever a module has dots enough, on every stock
// of a tag; where it has fewer, the picture is blamed.
func TestWhatIsDrawnIsAnA(t *testing.T) {
	stocks, err := printtemplates.OfKind(printtemplates.Tag)
	if err != nil || len(stocks) < 2 {
		t.Fatalf("%d stocks, %v", len(stocks), err)
	}
	for _, prefix := range []string{"", "HTTPS://H.EXAMPLE/"} {
		tag := madeTag(t, prefix)
		want := encode(t, tag.Sealed.Text())
		for _, stock := range stocks {
			for _, dpi := range []int{203, 300, 600} {
				if prefix != "" && dpi != 300 {
					continue // the symbol has the same size
				}
				t.Run(fmt.Sprintf("%s at %d%s", stock.Name, dpi, prefix), func(t *testing.T) {
					var picture bytes.Buffer
					err := print.Job{Stock: stock, DPI: dpi}.Stream(t.Context(), &picture, print.PNG, tag)
					if errors.Is(err, render.ErrDPI) {
						t.Skipf("declined: %v", err)
					}
					if err != nil {
						t.Fatal(err)
					}
					v, err := scan.Locate(picture.Bytes())
					if err != nil {
						t.Fatal(err)
					}
					x0, y0 := v.At(0, 0)
					x1, y1 := v.At(symbol.Modules, symbol.Modules)
					dots := max(x1-x0, y1-y0) / symbol.Modules
					r := grade.Print(v, want)
					if small := dots < 3.95; len(r.Faults) > 0 && !small || r.Confirms() == small || !small && r.Overall() != grade.A {
						say(t, r)
						t.Errorf("modules of %.2f dots: overall %s, faults %v", dots, r.Overall(), r.Faults)
					}
				})
			}
		}
	}
}

// madeTag is an invented tag.
func madeTag(t *testing.T, prefix string) print.Tag {
	t.Helper()
	key, err := tagcode.NewKey(bytes.NewReader(bytes.Repeat([]byte{7, 11, 13}, 64)))
	if err != nil {
		t.Fatal(err)
	}
	inspected, ok := quantity.NewDate(2026, 3, 2)
	if !ok {
		t.Fatal("no such date")
	}
	tag, err := print.Make("NS-0417", tagcode.Tag{
		Key: key.Fingerprint(), Number: tagcode.NumberOf(key.Fingerprint(), "NS-0417"), Serial: 3,
		Inspected: inspected, Outcome: tagcode.Fit, Due: inspected.AddMonths(12),
		Facts: tagcode.Facts{Grade: 1, Size: 3, Legs: 2, Reach: 2400 * quantity.Millimetre, Basis: 2, Load: 12300},
	}, key, prefix)
	if err != nil {
		t.Fatal(err)
	}
	return tag
}
