package command_test

import (
	"bytes"
	"image"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"cribgate/labeler/command"
)

// pictures are the previews that are kept, for the README of the stocks.
const pictures = "../../printtemplates/pictures"

// again makes the kept pictures anew.
const again = "look at the stocks, then: go run ./labeler templates --preview printtemplates/pictures"

func keptPicture(t *testing.T, file string) *image.RGBA {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if len(data) > 40_000 {
		t.Errorf("%s has %d bytes, which is much to review", file, len(data))
	}
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	all := image.NewRGBA(img.Bounds())
	draw.Draw(all, all.Rect, img, img.Bounds().Min, draw.Src)
	return all
}

func files(t *testing.T, dir string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

// The kept pictures are what the command draws, to the dot.
func TestKeptPictures(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "made")
	var stdout, stderr bytes.Buffer
	if status := command.Run(t.Context(), []string{"templates", "--preview", dir}, strings.NewReader(""), &stdout, &stderr); status != 0 {
		t.Fatalf("status %d: %s", status, stderr.String())
	}
	drawn := files(t, dir)
	if listed := strings.Count(stdout.String(), "\n"); listed != len(drawn) {
		t.Errorf("%d files drawn, %d listed", len(drawn), listed)
	}
	if kept := files(t, pictures); !slices.Equal(kept, drawn) {
		t.Fatalf("kept are %v, drawn %v; %s", kept, drawn, again)
	}
	for _, name := range drawn {
		kept, now := keptPicture(t, filepath.Join(pictures, name)), keptPicture(t, filepath.Join(dir, name))
		if kept.Rect != now.Rect || !bytes.Equal(kept.Pix, now.Pix) {
			t.Errorf("%s has changed; %s", name, again)
		}
	}
}
