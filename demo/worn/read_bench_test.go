package worn

import (
	"fmt"
	"testing"
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
