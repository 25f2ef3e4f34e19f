package symbol

import (
	"fmt"

	qrcode "github.com/skip2/go-qrcode"
)

// maxLink is the longest address that is drawn, in bytes: it is read off a screen at
// arm's length, where a larger symbol has too small modules (site policy, no source).
const maxLink = 200

// Link returns the modules of a symbol that leads a telephone to an address, row by
// row, without the quiet zone. It is no tag: it is shown on a screen, can be read while
// the screen is whole, and so mends 15 % (level M of ISO/IEC 18004, from memory, not
// seen). An address without bytes, or with more than 200, is refused.
func Link(address string) ([][]bool, error) {
	if address == "" || len(address) > maxLink {
		return nil, fmt.Errorf("symbol: encode link: %d bytes, at most %d", len(address), maxLink)
	}
	code, err := qrcode.New(address, qrcode.Medium)
	if err != nil {
		return nil, fmt.Errorf("symbol: encode link: %w", err)
	}
	code.DisableBorder = true
	return code.Bitmap(), nil
}
