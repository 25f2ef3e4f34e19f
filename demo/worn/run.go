package worn

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/draw"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"time"

	"cribgate/kiosk/scan"
)

// A Reading is what one reader made of one frame.
type Reading struct {
	Outcome Outcome
	Took    time.Duration
	Texts   []string
}

// A Result is what all readers made of one frame, in their order.
type Result struct {
	Set      string // its kind; of a photograph, the folder
	Severity int    // 0 for a photograph
	Name     string
	Texts    []string // what stands there
	Possible bool     // see [Scene]; false for a photograph
	Readings []Reading
}

// A Bench says what is made and read.
type Bench struct {
	Maker      *Maker
	Scenes     int   // of each kind and severity
	Severities []int // 1 to 5
	Kinds      []Kind
	Readers    []Reader
	Out        string // directory that keeps frames and their texts; empty keeps none
	Progress   func(done, of int)
}

// Run makes scenes and has each read by every reader, one after the other on one
// core. Nothing is kept of a frame but its results.
func Run(ctx context.Context, b Bench) (results []Result, err error) {
	dir := b.Out
	if dir == "" {
		if dir, err = os.MkdirTemp("", "worn-"); err != nil {
			return nil, fmt.Errorf("worn: make a directory: %w", err)
		}
		defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	}
	total := len(b.Kinds) * len(b.Severities) * b.Scenes
	for _, k := range b.Kinds {
		for _, severity := range b.Severities {
			// What one kind has of one severity is made on every core, then read.
			for first := 0; first < b.Scenes; first += batch {
				scenes, err := b.Maker.batch(ctx, k, severity, first, min(b.Scenes-first, batch))
				if err != nil {
					return nil, err
				}
				for _, s := range scenes {
					if b.Progress != nil {
						b.Progress(len(results), total)
					}
					r, err := b.scene(ctx, dir, s, len(results))
					if err != nil {
						return nil, err
					}
					results = append(results, r)
				}
			}
		}
	}
	return results, nil
}

// batch is how many frames are held in memory.
const batch = 16

func (m *Maker) batch(ctx context.Context, k Kind, severity, first, n int) ([]Scene, error) {
	scenes, errs := make([]Scene, n), make([]error, n)
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var group sync.WaitGroup
	for i := range n {
		slots <- struct{}{}
		group.Go(func() {
			defer func() { <-slots }()
			if errs[i] = ctx.Err(); errs[i] == nil {
				scenes[i], errs[i] = m.Make(k, severity, first+i)
			}
		})
	}
	group.Wait()
	return scenes, errors.Join(errs...)
}

// scene writes a scene, and has it read.
func (b Bench) scene(ctx context.Context, dir string, s Scene, number int) (Result, error) {
	set := fmt.Sprintf("%s-%d", strings.ReplaceAll(s.Kind.String(), " ", "-"), s.Severity)
	r := Result{Set: s.Kind.String(), Severity: s.Severity, Name: fmt.Sprintf("%s/%03d", set, s.Number), Texts: s.Texts, Possible: s.Possible}
	stem := filepath.Join(dir, set, fmt.Sprintf("%03d", s.Number))
	if err := os.MkdirAll(filepath.Dir(stem), 0o755); err != nil {
		return Result{}, fmt.Errorf("worn: keep a frame: %w", err)
	}
	f := Frame{Path: stem + ".jpg", File: s.JPEG, Number: number}
	var err error
	if f.Brightness, err = s.Brightness(); err != nil {
		return Result{}, err
	}
	if err := os.WriteFile(f.Path, s.JPEG, 0o644); err != nil {
		return Result{}, fmt.Errorf("worn: keep a frame: %w", err)
	}
	if b.Out != "" {
		for i, text := range append(s.Texts, "")[:max(len(s.Texts), 1)] {
			name := stem + ".txt"
			if i > 0 {
				name = stem + also + strconv.Itoa(i) + ".txt"
			}
			if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
				return Result{}, fmt.Errorf("worn: keep a text: %w", err)
			}
		}
	}
	if r.Readings, err = readAll(ctx, b.Readers, f, s.Texts); err != nil {
		return Result{}, err
	}
	if b.Out == "" {
		err = os.Remove(f.Path)
	}
	return r, err
}

// readAll has every reader read a frame on one core, and leaves the cores as they
// were. Each begins with the memory of those before it swept away.
func readAll(ctx context.Context, readers []Reader, f Frame, there []string) ([]Reading, error) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	all := make([]Reading, len(readers))
	for i, r := range readers {
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("worn: %w", err)
		}
		var err error
		if all[i], err = try(ctx, r, f, there); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// Start is how long a reader takes for a picture of one white module, which is to
// say for being called: the least of some tries.
func Start(ctx context.Context, r Reader) (time.Duration, error) {
	dir, err := os.MkdirTemp("", "worn-")
	if err != nil {
		return 0, fmt.Errorf("worn: make a directory: %w", err)
	}
	defer os.RemoveAll(dir) // what stays of one white picture harms nobody
	white := image.NewGray(image.Rect(0, 0, 64, 64))
	draw.Draw(white, white.Rect, image.White, image.Point{}, draw.Src)
	f := Frame{Path: filepath.Join(dir, "white.png"), Brightness: white}
	if f.File, err = pngOf(white); err != nil {
		return 0, err
	}
	if err := os.WriteFile(f.Path, f.File, 0o644); err != nil {
		return 0, fmt.Errorf("worn: write a picture: %w", err)
	}
	least := time.Hour
	for range 5 {
		reading, err := try(ctx, r, f, nil)
		if err != nil {
			return 0, err
		}
		least = min(least, reading.Took)
	}
	return least, nil
}

// greyOf is a picture's brightness by itself.
func greyOf(data []byte) (*image.Gray, error) {
	m, err := scan.Picture(data)
	if err != nil {
		return nil, err
	}
	grey := image.NewGray(image.Rect(0, 0, m.Bounds().Dx(), m.Bounds().Dy()))
	draw.Draw(grey, grey.Rect, m, m.Bounds().Min, draw.Src)
	return grey, nil
}
