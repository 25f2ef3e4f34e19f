package worn

import (
	"context"
	"errors"
	"fmt"
	"image"
	"os/exec"
	"regexp"
	"strings"
	"time"

	"cribgate/kiosk/scan"
)

// A Frame is a picture as each reader takes it.
type Frame struct {
	Path       string // of the file
	File       []byte // the same in memory
	Brightness *image.Gray
	Number     int // from 0
}

// A Reader reads frames.
type Reader struct {
	Name string
	Ours bool // it is part of this program
	// Read gives every text that it finds, none where it finds none, and what it
	// took of a processor.
	Read func(context.Context, Frame) ([]string, time.Duration, error)
}

// Ours are the readers of this program: one frame as a camera sends it, and a picture
// of which there is no other.
func Ours() []Reader {
	one := func(read func() (string, error)) ([]string, time.Duration, error) {
		begun := processor()
		text, err := read()
		took := processor() - begun
		if _, unread := errors.AsType[scan.Problem](err); unread {
			return nil, took, nil
		}
		return []string{text}, took, err
	}
	return []Reader{
		{Name: "kiosk, brightness", Ours: true, Read: func(_ context.Context, f Frame) ([]string, time.Duration, error) {
			return one(func() (string, error) {
				s, err := scan.Glance(f.Brightness, f.Number)
				return s.Text(), err
			})
		}},
		{Name: "kiosk, file", Ours: true, Read: func(_ context.Context, f Frame) ([]string, time.Duration, error) {
			return one(func() (string, error) { return scan.Image(f.File) })
		}},
	}
}

const (
	zbar  = "zbarimg"
	zxing = "ZXingReader"
)

// Others are the general readers that are installed, and the names of those that are
// not. Both are asked for QR symbols only.
func Others() (found []Reader, missing []string) {
	quoted := regexp.MustCompile(`(?s)Text: +"(.*?)"\nBytes:`)
	for _, r := range []struct {
		name  string
		args  []string
		none  int // exit status where nothing is found
		texts func(out string) []string
	}{
		{zbar, []string{"--quiet", "--raw", "-Sdisable", "-Sqrcode.enable"}, 4, func(out string) []string {
			if out = strings.TrimSuffix(out, "\n"); out == "" {
				return nil
			}
			return []string{out}
		}},
		{zxing, []string{"-format", "QRCode"}, 0, func(out string) (texts []string) {
			for _, m := range quoted.FindAllStringSubmatch(out, -1) {
				texts = append(texts, m[1])
			}
			return texts
		}},
	} {
		if _, err := exec.LookPath(r.name); err != nil {
			missing = append(missing, r.name)
			continue
		}
		found = append(found, Reader{Name: r.name, Read: func(ctx context.Context, f Frame) ([]string, time.Duration, error) {
			program := exec.CommandContext(ctx, r.name, append(r.args, f.Path)...)
			out, err := program.Output()
			if exit, ran := errors.AsType[*exec.ExitError](err); err != nil && (!ran || exit.ExitCode() != r.none) {
				return nil, 0, fmt.Errorf("worn: %s: %w", r.name, err)
			}
			return r.texts(string(out)), program.ProcessState.UserTime() + program.ProcessState.SystemTime(), nil
		}})
	}
	return found, missing
}

// An Outcome is how a reading ended. The zero Outcome is Unread.
type Outcome uint8

// The outcomes.
const (
	Unread Outcome = iota
	Right          // a text that stands in the frame, and no other
	Wrong          // a text that no symbol in the frame says
	outcomes
)

// judge holds what was read against what stands in the frame. Line ends are no
// matter: one program writes them as the symbol has them, another does not.
func judge(read, there []string) Outcome {
	if len(read) == 0 {
		return Unread
	}
	plain := strings.NewReplacer("\r\n", "\n", "\r", "\n")
	known := map[string]bool{}
	for _, t := range there {
		known[strings.TrimRight(plain.Replace(t), "\n")] = true
	}
	for _, t := range read {
		if t = strings.TrimRight(plain.Replace(t), "\n"); known[t] {
			continue
		}
		for _, l := range strings.Split(t, "\n") { // two symbols come as two lines
			if !known[l] {
				return Wrong
			}
		}
	}
	return Right
}

// try has a reader read a frame.
func try(ctx context.Context, r Reader, f Frame, there []string) (Reading, error) {
	texts, took, err := r.Read(ctx, f)
	if err != nil {
		return Reading{}, err
	}
	return Reading{Outcome: judge(texts, there), Took: took, Texts: texts}, nil
}
