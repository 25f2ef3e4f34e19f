package command_test

import (
	"bytes"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"cribgate/core/tagcode"
	"cribgate/labeler/command"
)

// example takes the worked example out of the README of the stocks: files by
// name, commands, and what is said of the spoilt one.
func example(t *testing.T) (files map[string]string, commands []string, refusal string) {
	t.Helper()
	readme, err := os.ReadFile("../../printtemplates/README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, text, ok := strings.Cut(string(readme), "### From blank to proof")
	text, _, end := strings.Cut(text, "\n## ")
	if !ok || !end {
		t.Fatal("the README has no such section")
	}
	files = map[string]string{}
	for _, m := range regexp.MustCompile("(?s)`([a-z0-9-]+\\.jsonl?)`:\n\n```jsonl?\n(.*?)```").FindAllStringSubmatch(text, -1) {
		files[m[1]] = m[2]
	}
	shell := regexp.MustCompile("(?s)```sh\n(.*?)```").FindStringSubmatch(text)
	said := regexp.MustCompile("it\\s+says: `([^`]+)`").FindStringSubmatch(text)
	if len(files) != 2 || shell == nil || said == nil {
		t.Fatalf("%d files, commands %q, refusal %q", len(files), shell, said)
	}
	return files, strings.Split(strings.TrimSpace(shell[1]), "\n"), strings.Join(strings.Fields(said[1]), " ")
}

// The example of the README does what it says: a proof that reads back, and a
// refusal with the figure.
func TestExampleOfTheStocks(t *testing.T) {
	files, commands, refusal := example(t)
	t.Chdir(t.TempDir())
	run := func(line string) (int, string) {
		args := strings.Fields(line)
		if args[0] != "labeler" {
			t.Fatalf("%q is not a command of ours", line)
		}
		var stdout, stderr bytes.Buffer
		status := command.Run(t.Context(), args[1:], strings.NewReader(""), &stdout, &stderr)
		return status, stderr.String()
	}
	for name, text := range files {
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, line := range commands {
		if status, said := run(line); status != 0 {
			t.Fatalf("%s: status %d: %s", line, status, said)
		}
	}
	bitmap, err := gozxing.NewBinaryBitmapFromImage(keptPicture(t, "proof.png"))
	if err != nil {
		t.Fatal(err)
	}
	got, err := qrcode.NewQRCodeReader().Decode(bitmap, nil)
	if err != nil {
		t.Fatal(err)
	}
	if tag, err := tagcode.Parse(got.GetText()); err != nil || tag.Serial != 3 || tag.Due.String() != "2026-11-10" {
		t.Errorf("the proof says %+v, %v", tag.Tag, err)
	}

	spoilt := strings.Replace(files["tally-40x60.json"], `"y_um": 4500`, `"y_um": 5100`, 1)
	if spoilt == files["tally-40x60.json"] {
		t.Fatal("the hole is not where the text says")
	}
	if err := os.WriteFile("tally-40x60.json", []byte(spoilt), 0o666); err != nil {
		t.Fatal(err)
	}
	status, said := run(commands[1])
	if status != 1 || !strings.Contains(said, refusal) {
		t.Errorf("with the hole moved: status %d: %s", status, said)
	}
}
