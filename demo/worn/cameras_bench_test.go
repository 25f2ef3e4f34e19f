package worn

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"golang.org/x/image/draw"

	"cribgate/kiosk/camera"
)

// perSecond is how many frames a camera gives.
const perSecond = 10

// Four cameras, of which two see no tag, send ten frames a second each over their lines,
// for as many frames as the benchmark has rounds: how many of a hundred frames are looked
// at, the others being older than one that is, and how long after it was taken a frame is
// answered, and what a frame took of a processor, its sending counted in. A page sends the next frame when the last was taken from it; so does this.
//
//	go test ./demo/worn -run '^$' -bench FourCameras -benchtime 100x -cpu 2
func BenchmarkFourCameras(b *testing.B) {
	m := maker(b, 1)
	views := [][]Frame{
		framesOf(b, m, 1, Rust, Thumb, Motion), framesOf(b, m, 3, Bent, Wet, Paint),
		framesOf(b, m, 1, None), framesOf(b, m, 3, None),
	}
	for kind, name := range map[camera.Kind]string{camera.Grey: "brightness", camera.JPEG: "JPEG"} {
		b.Run(name, func(b *testing.B) {
			cameras := camera.Open(camera.Options{})
			defer cameras.Close()
			server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				if err := cameras.Serve(w, r, nil); err != nil {
					b.Error(err)
				}
			}))
			defer server.Close()
			var mu sync.Mutex
			var ages []time.Duration
			var all sync.WaitGroup
			begun := processor()
			for _, frames := range views {
				sent := make([][]byte, len(frames))
				for i, f := range frames {
					sent[i] = sentAs(b, f.Brightness, kind)
				}
				conn, _, err := websocket.DefaultDialer.Dial("ws"+strings.TrimPrefix(server.URL, "http"), nil)
				if err != nil {
					b.Fatal(err)
				}
				defer conn.Close()
				all.Go(func() {
					took, err := film(conn, sent, b.N)
					if err != nil {
						b.Error(err)
					}
					mu.Lock()
					defer mu.Unlock()
					ages = append(ages, took...)
				})
			}
			all.Wait()
			if len(ages) == 0 {
				b.Fatal("no frame was looked at")
			}
			slices.Sort(ages)
			for _, of := range []int{50, 95, 100} {
				b.ReportMetric(quantile(ages, of).Seconds()*1000, fmt.Sprintf("ms-in-%d%%", of))
			}
			b.ReportMetric((processor()-begun).Seconds()*1000/float64(len(ages)), "processor-ms/frame")
			b.ReportMetric(float64(len(ages))*100/float64(b.N*len(views)), "looked-at-%")
		})
	}
}

// sentAs is a frame as a page sends it, without its number.
func sentAs(b *testing.B, m *image.Gray, kind camera.Kind) []byte {
	b.Helper()
	const side = 1000 // as the page makes it
	size := image.Rect(0, 0, side, m.Rect.Dy()*side/m.Rect.Dx())
	small := image.NewGray(size)
	draw.ApproxBiLinear.Scale(small, size, m, m.Rect, draw.Src, nil)
	pixels := small.Pix
	if kind == camera.JPEG {
		coloured := image.NewRGBA(size)
		draw.Draw(coloured, size, small, image.Point{}, draw.Src)
		var out bytes.Buffer
		if err := jpeg.Encode(&out, coloured, &jpeg.Options{Quality: 80}); err != nil {
			b.Fatal(err)
		}
		pixels = out.Bytes()
	}
	head := []byte{1, byte(kind), 0, 0, 0, 0}
	head = binary.BigEndian.AppendUint16(head, uint16(size.Dx()))
	head = binary.BigEndian.AppendUint16(head, uint16(size.Dy()))
	return append(binary.BigEndian.AppendUint32(head, uint32(len(pixels))), pixels...)
}

// film sends so many frames, each where the one before was taken, and tells how long
// after it was due each was answered that was.
func film(conn *websocket.Conn, frames [][]byte, n int) (ages []time.Duration, err error) {
	type note struct {
		Frame uint32
		Taken bool
	}
	notes, failed := make(chan note), make(chan error, 1)
	done := make(chan struct{})
	defer close(done)
	go func() {
		for {
			var told note
			_, text, err := conn.ReadMessage()
			if err == nil {
				err = json.Unmarshal(text, &told)
			}
			if err != nil {
				failed <- err
				return
			}
			select {
			case notes <- told:
			case <-done:
				return
			}
		}
	}()
	due := map[uint32]time.Time{}
	tick := time.NewTicker(time.Second / perSecond)
	defer tick.Stop()
	for number, free := uint32(0), true; number < uint32(n) || len(due) > 0; {
		select {
		case now := <-tick.C:
			if number++; !free || number > uint32(n) {
				continue
			}
			frame := frames[int(number)%len(frames)]
			binary.BigEndian.PutUint32(frame[2:], number)
			due[number], free = now, false
			if err := conn.WriteMessage(websocket.BinaryMessage, frame); err != nil {
				return nil, err
			}
		case told := <-notes:
			if told.Taken {
				free = true
				continue
			}
			if at, ok := due[told.Frame]; ok {
				ages = append(ages, time.Since(at))
				delete(due, told.Frame)
			}
		case err := <-failed:
			return nil, err
		}
	}
	return ages, nil
}
