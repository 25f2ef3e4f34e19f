package print_test

import (
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	qrcode "github.com/skip2/go-qrcode"

	"cribgate/labeler/print"
)

// BenchmarkTenThousand prints ten thousand lines to one PDF, and in the same
// run has the encoder alone make the symbols of the same texts. It reports how
// many times as long the PDF takes (ratio) and the most memory that the run had
// from the system meanwhile (peak-MB).
//
//	go test ./labeler/print -run '^$' -bench TenThousand -benchtime 1x
func BenchmarkTenThousand(b *testing.B) {
	const n = 10_000
	var text strings.Builder
	for i := range n {
		text.WriteString(strings.Replace(line, "CS-0417", fmt.Sprintf("CS-%05d", i), 1) + "\n")
	}
	lines, k := text.String(), key(b)
	var whole, alone time.Duration
	var peak uint64
	for b.Loop() {
		runtime.GC()
		stop := make(chan struct{})
		sampled := make(chan uint64)
		go func() {
			var most uint64
			tick := time.NewTicker(20 * time.Millisecond)
			defer tick.Stop()
			for {
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				most = max(most, m.Sys-m.HeapReleased)
				select {
				case <-stop:
					sampled <- most
					return
				case <-tick.C:
				}
			}
		}()
		start := time.Now()
		job := print.Job{Stock: stock(b, "plate-50x80"), Out: filepath.Join(b.TempDir(), "out.pdf")}
		if _, _, err := job.WriteLines(b.Context(), strings.NewReader(lines), k, ""); err != nil {
			b.Fatal(err)
		}
		whole += time.Since(start)
		close(stop)
		peak = max(peak, <-sampled)

		b.StopTimer()
		tags, err := print.ReadLines(strings.NewReader(lines), k, "")
		if err != nil {
			b.Fatal(err)
		}
		start = time.Now()
		for _, tag := range tags {
			code, err := qrcode.NewWithForcedVersion(tag.Sealed.Text(), 5, qrcode.Highest)
			if err != nil {
				b.Fatal(err)
			}
			if len(code.Bitmap()) == 0 {
				b.Fatal("an empty symbol")
			}
		}
		alone += time.Since(start)
		b.StartTimer()
	}
	b.ReportMetric(whole.Seconds()/alone.Seconds(), "ratio")
	b.ReportMetric(float64(peak)/1e6, "peak-MB")
}
