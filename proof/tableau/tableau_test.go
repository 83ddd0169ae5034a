package tableau

import (
	"errors"
	"image"
	"image/color"
	"image/draw"
	"testing"
)

func plain(w, h int, c color.RGBA) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(img, img.Bounds(), image.NewUniform(c), image.Point{}, draw.Src)
	return img
}

// Every sheet's pixels are there unchanged on its paper, whatever the number and shape;
// legends, sentence and foot add text in room of their own.
func TestDraw(t *testing.T) {
	colours := []color.RGBA{{200, 10, 10, 255}, {10, 200, 10, 255}, {10, 10, 200, 255}, {200, 200, 10, 255}}
	paper := color.RGBA{240, 238, 230, 255}
	for n := 1; n <= MaxSheets; n++ {
		for _, size := range []image.Point{{300, 200}, {200, 300}, {40, 30}} {
			var d Desk
			for i := range n {
				d.Sheets = append(d.Sheets, Sheet{plain(size.X, size.Y, colours[i]), paper, "Pearl", []string{"relative colorimetric, compensation on"}})
			}
			img, err := Draw(d)
			if err != nil {
				t.Fatal(err)
			}
			counts := map[color.RGBA]int{}
			for y := range img.Bounds().Dy() {
				for x := range img.Bounds().Dx() {
					counts[img.RGBAAt(x, y)]++
				}
			}
			for i := range n {
				if counts[colours[i]] != size.X*size.Y {
					t.Errorf("%d of %v: sheet %d has %d pixels, want %d", n, size, i, counts[colours[i]], size.X*size.Y)
				}
			}
			if counts[paper] == 0 || counts[color.RGBA{255, 255, 255, 255}] == 0 {
				t.Errorf("%d of %v: no paper or no text", n, size)
			}
			before := img.Bounds().Dy()
			d.Sentence, d.Foot = "On Pearl this shirt prints duller.", "A proof is no contract."
			with, err := Draw(d)
			if err != nil || with.Bounds().Dy() <= before {
				t.Errorf("%d of %v: sentence and foot take no room, %v", n, size, err)
			}
			d.Marks = []Mark{{"shirt", 0.5, 0.5}, {"corner", 0, 1}}
			marked, err := Draw(d)
			if err != nil || marked.Bounds() != with.Bounds() || string(marked.Pix) == string(with.Pix) {
				t.Errorf("%d of %v: pins leave no mark, %v", n, size, err)
			}
		}
	}
	if _, err := Draw(Desk{}); err == nil {
		t.Error("no sheets are drawn")
	}
	if _, err := Draw(Desk{Sheets: []Sheet{{Picture: plain(3, 3, paper)}, {Picture: plain(4, 3, paper)}}}); !errors.Is(err, ErrSize) {
		t.Errorf("two sizes: %v", err)
	}
}

// Four sheets lie two by two, two wide ones beside each other, whatever is on them.
func TestColumns(t *testing.T) {
	for _, c := range []struct{ n, w, h, want int }{{1, 300, 200, 1}, {2, 200, 300, 2}, {2, 300, 220, 2}, {4, 300, 220, 2}, {3, 200, 300, 3}} {
		if got := columns(c.n, c.w, c.h); got != c.want {
			t.Errorf("%d of %d by %d in %d columns, want %d", c.n, c.w, c.h, got, c.want)
		}
	}
}
