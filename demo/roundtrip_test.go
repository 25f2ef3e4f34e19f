package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/demo/crib"
	"cribgate/kiosk/scan"
	"cribgate/labeler/print"
	"cribgate/labeler/render"
	"cribgate/printtemplates"
)

// tool finds a program that reads what we write. Without it the test is skipped,
// or fails where CRIBGATE_REQUIRE=1 says that all must be there.
func tool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("CRIBGATE_REQUIRE") == "1" {
		t.Fatalf("%s is not installed and CRIBGATE_REQUIRE=1", name)
	}
	t.Skipf("NOT CHECKED: %s is not installed", name)
	return ""
}

// output is what a program prints.
func output(t *testing.T, name string, args ...string) string {
	t.Helper()
	var warned bytes.Buffer
	cmd := exec.Command(tool(t, name), args...)
	cmd.Stderr = &warned
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, warned.String())
	}
	return string(out)
}

// readers read a picture: ours, and two programs that know nothing of us.
var readers = []struct {
	name string
	read func(t *testing.T, picture string) string
}{
	{"kiosk", func(t *testing.T, picture string) string {
		data, err := os.ReadFile(picture)
		if err != nil {
			t.Fatal(err)
		}
		text, err := scan.Image(data)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}},
	{"zbarimg", func(t *testing.T, picture string) string {
		return strings.TrimSuffix(output(t, "zbarimg", "--quiet", "--raw", picture), "\n")
	}},
	{"ZXingReader", func(t *testing.T, picture string) string {
		m := regexp.MustCompile(`(?m)^Text: +"(.*)"$`).FindStringSubmatch(output(t, "ZXingReader", picture))
		if m == nil {
			t.Fatal("it finds no text")
		}
		return m[1]
	}},
}

// pictureOf turns a file that the labeler wrote into a picture, as other
// programs draw it at a resolution.
func pictureOf(t *testing.T, file string, dpi int) string {
	t.Helper()
	dots, bare := strconv.Itoa(dpi), strings.TrimSuffix(file, filepath.Ext(file))
	switch filepath.Ext(file) {
	case ".svg":
		output(t, "rsvg-convert", "-d", dots, "-p", dots, "-b", "white", "-o", bare+"-svg.png", file)
		return bare + "-svg.png"
	case ".pdf":
		output(t, "pdftoppm", "-r", dots, "-png", "-singlefile", file, bare+"-pdf")
		return bare + "-pdf.png"
	}
	return file
}

// A tag is the same to everybody who reads it, whatever it is printed on, in
// whatever format, at whatever resolution: from the seal to the picture and back.
func TestRoundTrip(t *testing.T) {
	stocks, err := printtemplates.OfKind(printtemplates.Tag)
	if err != nil {
		t.Fatal(err)
	}
	if len(stocks) < 2 {
		t.Fatalf("%d stocks: one rectangular and one round are wanted", len(stocks))
	}
	tags := roundTripTags(t)
	for _, stock := range stocks {
		for _, format := range []print.Format{print.PNG, print.SVG, print.PDF} {
			for _, dpi := range []int{203, 300, 600} {
				t.Run(fmt.Sprintf("%s%s at %d", stock.Name, format, dpi), func(t *testing.T) {
					for _, tag := range tags {
						roundTrip(t, tag, print.Job{Stock: stock, DPI: dpi, Out: filepath.Join(t.TempDir(), "tag"+string(format))})
					}
				})
			}
		}
	}
}

func roundTrip(t *testing.T, tag print.Tag, job print.Job) {
	t.Helper()
	result, err := job.Write(t.Context(), []print.Tag{tag}, nil)
	if errors.Is(err, render.ErrDPI) && job.DPI < 600 {
		// The labeler may decline a coarse resolution, with the figure; it must
		// not draw what cannot be read.
		t.Skipf("declined: %v", err)
	}
	if err != nil {
		t.Fatal(err)
	}
	picture := pictureOf(t, result.Files[0], job.DPI)
	for _, r := range readers {
		t.Run(r.name+" "+tag.Ident, func(t *testing.T) {
			text := r.read(t, picture)
			if text != tag.Sealed.Text() {
				t.Fatalf("reads %q, sealed was %q", text, tag.Sealed.Text())
			}
			again, err := tagcode.Parse(text)
			if err != nil || again.Tag != tag.Sealed.Tag {
				t.Errorf("says %+v, %v; sealed was %+v", again.Tag, err, tag.Sealed.Tag)
			}
		})
	}
}

// roundTripTags are a tag of the crib, and the longest text that a tag can have.
func roundTripTags(t *testing.T) []print.Tag {
	t.Helper()
	day, err := quantity.ParseDate("2026-03-03")
	if err != nil {
		t.Fatal(err)
	}
	built, err := crib.Build(t.Context(), crib.Options{Dir: t.TempDir(), Slings: 20, Years: 1, Seed: 4, Last: day})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range built.Samples {
		if s.Name != "good" {
			continue
		}
		plain, err := s.Tag()
		if err != nil {
			t.Fatal(err)
		}
		long := plain
		long.Ident += "P"
		prefix := "HTTPS://CRIB.EXAMPLE/T/"
		if len(prefix) != tagcode.MaxPrefix {
			t.Fatalf("the prefix has %d characters, want %d", len(prefix), tagcode.MaxPrefix)
		}
		if long.Sealed, err = plain.Sealed.WithPrefix(prefix); err != nil {
			t.Fatal(err)
		}
		return []print.Tag{plain, long}
	}
	t.Fatal("the crib has no good tag")
	return nil
}
