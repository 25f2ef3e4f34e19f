package worn

import (
	"errors"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"cribgate/kiosk/scan"
)

// framesOf are a frame of each kind, at one severity.
func framesOf(b *testing.B, m *Maker, severity int, of ...Kind) (frames []Frame) {
	b.Helper()
	for i, k := range of {
		s := made(b, m, k, severity, 0, nil)
		grey, err := s.Brightness()
		if err != nil {
			b.Fatal(err)
		}
		frames = append(frames, Frame{File: s.JPEG, Brightness: grey, Number: i})
	}
	return frames
}

// Time and memory a frame, by severity and where no tag is: from decoded brightness,
// and from a file.
func BenchmarkRead(b *testing.B) {
	m := maker(b, 1)
	sets := map[string][]Frame{"no tag": framesOf(b, m, 3, None)}
	for severity := 1; severity <= Severities; severity++ {
		sets[fmt.Sprint("severity ", severity)] = framesOf(b, m, severity, Kinds()[:None]...)
	}
	for name, frames := range sets {
		for _, r := range Ours() {
			b.Run(name+"/"+r.Name, func(b *testing.B) {
				b.ReportAllocs()
				for i := 0; b.Loop(); i++ {
					if _, _, err := r.Read(b.Context(), frames[i%len(frames)]); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

// Four cameras, of which two see no tag, are looked through by as many workers as
// there are processors: how many frames a second each of the four gets. Ten are what
// a page sends.
func BenchmarkFourCameras(b *testing.B) {
	m := maker(b, 1)
	frames := append(framesOf(b, m, 1, None, Rust, Thumb, None), framesOf(b, m, 3, None, Bent, Wet, None)...)
	var next atomic.Int64
	var work sync.WaitGroup
	b.ReportAllocs()
	b.ResetTimer()
	for range runtime.GOMAXPROCS(0) {
		work.Go(func() {
			for i := next.Add(1) - 1; i < int64(b.N); i = next.Add(1) - 1 {
				if _, err := scan.Glance(frames[i%int64(len(frames))].Brightness, int(i)); errors.Is(err, scan.DamagedImage) {
					b.Error(err)
				}
			}
		})
	}
	work.Wait()
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds()/4, "frames/s/camera")
}
