package print_test

import (
	"testing"

	qrcode "github.com/skip2/go-qrcode"
)

// The encoder alone, for the texts of BenchmarkPDF1000: what that takes is held
// against this.
func BenchmarkEncoderAlone1000(b *testing.B) {
	tags := several(b, 1000)
	for b.Loop() {
		for _, tag := range tags {
			code, err := qrcode.NewWithForcedVersion(tag.Sealed.Text(), 5, qrcode.Highest)
			if err != nil {
				b.Fatal(err)
			}
			if len(code.Bitmap()) == 0 {
				b.Fatal("an empty symbol")
			}
		}
	}
}
