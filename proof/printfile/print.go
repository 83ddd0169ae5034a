package printfile

import (
	"context"
	"errors"
	"fmt"
	"image"
	"math"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"sync"
	"sync/atomic"

	"firstsheet/proof"
	"firstsheet/proof/paper"
	"firstsheet/proof/photo"
	"firstsheet/proof/raster"
	"firstsheet/proof/setup"
)

// Engine runs plans exactly; *proof.Engine is one.
type Engine interface {
	Chain(proof.Plan) (*proof.Chain, error)
}

// Print is a picture ready to be printed by a job. It may be used from several
// goroutines at once; Close it after use.
type Print struct {
	job     Job
	layout  Layout
	picture *photo.Picture // turned
	source  setup.Source
	paper   paper.Paper
	plan    proof.Plan
	chain   *proof.Chain // nil where the next program converts
	light   *light
	scale   *scaler // nil where the picture's own numbers stay
	sharp   *sharpener
	noise   *noise
	white   []float64 // the numbers of bare paper in the file
	carried photo.Carried

	warnings []Warning
}

// Prepare joins a picture and a job. find finds what the job's set-up names, source
// being the picture's own numbers. The errors are an *[Error], those of
// setup.Setup.Plan and of the engine, or ctx's.
func Prepare(ctx context.Context, e Engine, find setup.Finder, source setup.Source, job Job) (_ *Print, err error) {
	p := &Print{job: job, source: source}
	if p.layout, err = Lay(job, source.Picture.W, source.Picture.H); err != nil {
		return nil, err
	}
	if p.plan, err = job.Setup.Plan(find); err != nil {
		return nil, err
	}
	if p.plan.Source.ID() != source.Profile.ID() {
		return nil, &proof.PlanError{Reason: "the set-up takes the picture's numbers for " + p.plan.Source.Name() + ", the picture itself was opened as " + source.Profile.Name()}
	}
	if p.paper, err = find.Paper(job.Setup.Paper); err != nil {
		return nil, err
	}
	if job.Sharpen.Finish == FinishOfPaper {
		p.job.Sharpen.Finish = finishOf(p.paper.Card)
	}
	if p.picture, err = source.Picture.Turned(ctx, int(job.Turn)); err != nil {
		return nil, err
	}
	if err := p.optics(e); err != nil {
		return nil, err
	}
	if job.Converts == Here {
		if p.chain, err = e.Chain(p.plan); err != nil {
			return nil, err
		}
	}
	p.white = p.Embedded().Bare()
	if !job.Plain {
		p.noise = newNoise()
	}
	var left []string
	p.carried, left = source.Picture.Metadata.Carry(job.Metadata, p.layout.FileW, p.layout.FileH)
	p.warn(left)
	return p, nil
}

// optics prepares what changes pixels before their colour is converted.
func (p *Print) optics(e Engine) (err error) {
	if p.light, err = newLight(e, p.source.Profile); err != nil {
		return err
	}
	l := &p.layout
	p.sharp = newSharpener(p.light, p.job.Sharpen, l.PPI, l.Distance)
	if l.W != l.Crop.Dx() || l.H != l.Crop.Dy() || p.sharp != nil {
		p.scale = newScaler(p.light, p.pixels(), l.Crop, l.W, l.H)
	}
	return nil
}

// pixels returns the turned picture's numbers, sharing memory.
func (p *Print) pixels() raster.Pixels {
	c := p.picture
	return raster.Pixels{W: c.W, H: c.H, Channels: c.Channels, P8: c.Pix8, P16: c.Pix16}
}

// Close lets go of the engine's chain.
func (p *Print) Close() {
	if p.chain != nil {
		p.chain.Close()
	}
}

// Layout returns where the print lies.
func (p *Print) Layout() Layout { return p.layout }

// Plan returns the plan whose proof the print is to look like.
func (p *Print) Plan() proof.Plan { return p.plan }

// Job returns the job, with the paper's finish found out.
func (p *Print) Job() Job { return p.job }

// Source returns the picture and what its numbers are.
func (p *Print) Source() setup.Source { return p.source }

// Paper returns the paper.
func (p *Print) Paper() paper.Paper { return p.paper }

// Embedded is the profile that says what the file's numbers are.
func (p *Print) Embedded() *proof.Profile {
	if p.job.Converts == Here {
		return p.plan.Paper
	}
	return p.source.Profile
}

// finishOf reads a card's surface; FinishOfPaper where it says none that is known.
func finishOf(c paper.Card) Finish {
	text := strings.ToLower(c.Finish)
	for _, k := range []struct {
		part   string
		finish Finish
	}{{"matt", Matte}, {"cotton", Matte}, {"pearl", Pearl}, {"lustre", Pearl}, {"luster", Pearl}, {"satin", Pearl}, {"semi", Pearl}, {"baryta", Gloss}, {"gloss", Gloss}} {
		if strings.Contains(text, k.part) {
			return k.finish
		}
	}
	if c.BlackInk == "matte" {
		return Matte
	}
	return FinishOfPaper
}

// numbers returns what writes rows of a part of the printed picture: its numbers in
// the source's space, 0 to 1, at print size and sharpened.
func (p *Print) numbers(r image.Rectangle) func(y int, dst []float64) {
	n := p.picture.Channels
	if p.scale == nil {
		px := p.picture
		from := p.layout.Crop.Min
		return func(y int, dst []float64) {
			at := ((from.Y+y)*px.W + from.X + r.Min.X) * n
			for i := range dst {
				if px.Depth == 16 {
					dst[i] = float64(px.Pix16[at+i]) / 65535
				} else {
					dst[i] = float64(px.Pix8[at+i]) / 255
				}
			}
		}
	}
	around := r.Inset(-p.sharp.reach()).Intersect(image.Rect(0, 0, p.layout.W, p.layout.H))
	a := p.scale.at(around)
	p.sharp.apply(a, r)
	return func(y int, dst []float64) {
		row := a.row(y)[(r.Min.X-around.Min.X)*n:]
		for i := range dst {
			dst[i] = p.light.number(i%n, row[i])
		}
	}
}

// Preview returns a part of the printed picture, r in its pixels from 0, 0 to W, H,
// as w by h pixels of 16 bits in the picture's own space: ready for the same proof
// that the desk shows. With w and h of r's size they are the very numbers that are
// converted for the file; with fewer they are what a screen of coarser pixels shows of
// the print at its true size.
func (p *Print) Preview(ctx context.Context, r image.Rectangle, w, h int) (raster.Pixels, error) {
	r = r.Intersect(image.Rect(0, 0, p.layout.W, p.layout.H))
	if r.Empty() || w <= 0 || h <= 0 {
		return raster.Pixels{}, wrong("an empty part of the print")
	}
	n := p.picture.Channels
	out := raster.New(r.Dx(), r.Dy(), n, true)
	err := inBands(ctx, r.Dy(), func(y0, y1 int) error {
		part := image.Rect(r.Min.X, r.Min.Y+y0, r.Max.X, r.Min.Y+y1)
		read := p.numbers(part)
		row := make([]float64, r.Dx()*n)
		for y := y0; y < y1; y++ {
			read(r.Min.Y+y, row)
			for i, v := range row {
				out.P16[y*len(row)+i] = uint16(math.Round(v * 65535))
			}
		}
		return nil
	})
	if err != nil || w == r.Dx() && h == r.Dy() {
		return out, err
	}
	return resize(ctx, p.light, out, image.Rect(0, 0, out.W, out.H), w, h)
}

// Rows returns the file's pixels, made when they are asked for, with depth bits.
func (p *Print) Rows(depth int) photo.Rows {
	profile := p.Embedded()
	return photo.Rows{
		W: p.layout.FileW, H: p.layout.FileH, Channels: profile.Channels(), Depth: depth, ICC: profile.Data(),
		Band: func(ctx context.Context, y0, y1 int) (raster.Pixels, error) { return p.band(ctx, depth, y0, y1) },
	}
}

// band makes rows of the file.
func (p *Print) band(ctx context.Context, depth, y0, y1 int) (raster.Pixels, error) {
	n := len(p.white)
	out := raster.New(p.layout.FileW, y1-y0, n, depth == 16)
	blank := make([]float64, p.layout.FileW*n)
	for i := range blank {
		blank[i] = p.white[i%n]
	}
	in := p.layout.Inset
	inside := image.Rectangle{Min: image.Pt(0, max(y0-in.Y, 0)), Max: image.Pt(p.layout.W, min(y1-in.Y, p.layout.H))}
	var read func(int, []float64)
	if !inside.Empty() {
		read = p.numbers(inside)
	}
	row := make([]float64, p.layout.W*p.picture.Channels)
	line := make([]float64, len(blank))
	for y := y0; y < y1; y++ {
		if err := ctx.Err(); err != nil {
			return out, err
		}
		copy(line, blank)
		if k := y - in.Y; read != nil && k >= inside.Min.Y && k < inside.Max.Y {
			read(k, row)
			numbers := row
			if p.chain != nil {
				var err error
				if numbers, err = p.chain.Device(row); err != nil {
					return out, err
				}
			}
			copy(line[in.X*n:], numbers)
		}
		p.store(out.Rows(y-y0, y-y0+1), line, y)
	}
	return out, nil
}

// store rounds a row of numbers to the file's bits.
func (p *Print) store(dst raster.Pixels, line []float64, y int) {
	for i, v := range line {
		switch {
		case dst.P16 != nil:
			dst.P16[i] = uint16(math.Round(v * 65535))
		case p.noise != nil:
			n := dst.Channels
			dst.P8[i] = uint8(min(float32(v*255)+p.noise.at(i/n, y, i%n), 255))
		default:
			dst.P8[i] = uint8(math.Round(v * 255))
		}
	}
}

// Write makes the file at path; its format is told by the ending, as [photo.Write]
// has it. It is complete or absent, and never over the picture or one of keep.
// progress, which may be nil, is told how much is done, 0 to 1.
//
// Errors are an *[Error], a *photo.Error or ctx's. A disk without room for the file's
// samples is found before anything is computed.
func (p *Print) Write(ctx context.Context, path string, keep []string, progress func(float64)) error {
	depth, err := p.depth(path)
	if err != nil {
		return err
	}
	rows := p.Rows(depth)
	if err := room(path, rows); err != nil {
		return err
	}
	bytes := int64(rows.W) * int64(rows.H) * int64(rows.Channels) * int64(depth/8)
	if bytes >= math.MaxUint32 && !isJPEG(path) {
		return wrong("a file of %d by %d pixels and %d bits takes %.1f GB, and a TIFF holds 4: take fewer ppi or 8 bits", rows.W, rows.H, depth, float64(bytes)/(1<<30))
	}
	if bytes >= largeFile {
		defer debug.FreeOSMemory() // what its bands have left
	}
	opts := photo.WriteOptions{
		PPI: p.layout.PPI, Quality: p.job.Quality, Packing: p.job.Packing, Carried: p.carried,
		Keep: append([]string{p.source.Picture.Path}, keep...),
	}
	if progress != nil {
		opts.Progress = func(rows int) { progress(float64(rows) / float64(p.layout.FileH)) }
	}
	return photo.WriteRows(ctx, path, rows, opts)
}

// largeFile is the size from which on memory is given back after writing.
const largeFile = 64 << 20

// depth returns the bits that the writer of the file at path gets. That of a JPEG gets
// all: rounded or dithered before, its own rounding would come on top, and take the
// dither out again.
func (p *Print) depth(path string) (int, error) {
	switch {
	case isJPEG(path) && p.job.Depth == 16:
		return 0, wrong("a JPEG holds 8 bits; write a TIFF or PNG for 16")
	case isJPEG(path), p.job.Depth == 0:
		return 16, nil
	}
	return p.job.Depth, nil
}

func isJPEG(path string) bool {
	ext := strings.ToLower(filepath.Ext(path))
	return ext == ".jpg" || ext == ".jpeg"
}

// room reports a disk that has no room for a file.
func room(path string, r photo.Rows) error {
	free, known := freeSpace(filepath.Dir(path))
	need := int64(r.W) * int64(r.H) * int64(r.Channels) * int64(r.Depth/8)
	if isJPEG(path) {
		need /= 6 // finer than that no JPEG of a photograph is
	}
	need += int64(len(r.ICC))
	if !known || free >= need {
		return nil
	}
	return &photo.Error{Path: path, Kind: photo.DiskFull,
		Err: fmt.Errorf("the file can take %d MB and the disk has %d MB free", need>>20, free>>20)}
}

// inBands works on rows 0 to h in bands, on all cores, until one fails or ctx ends.
func inBands(ctx context.Context, h int, do func(y0, y1 int) error) error {
	const rows = 64
	var next atomic.Int64
	var group sync.WaitGroup
	errs := make([]error, min(runtime.GOMAXPROCS(0), (h+rows-1)/rows))
	for i := range errs {
		group.Go(func() {
			for ctx.Err() == nil && errs[i] == nil {
				y := int(next.Add(rows)) - rows
				if y >= h {
					return
				}
				errs[i] = do(y, min(y+rows, h))
			}
		})
	}
	group.Wait()
	return errors.Join(append(errs, ctx.Err())...)
}

// Small returns the whole printed picture, unsharpened, with its longer side of so
// many pixels of 16 bits in the picture's own space, for a label or a ticket.
func (p *Print) Small(ctx context.Context, side int) (raster.Pixels, error) {
	l := p.layout
	f := float64(side) / float64(max(l.W, l.H))
	w, h := max(1, int(math.Round(float64(l.W)*f))), max(1, int(math.Round(float64(l.H)*f)))
	return resize(ctx, p.light, p.pixels(), l.Crop, w, h)
}

// Whole returns the turned picture, what is cut off included, as [Print.Small] does.
func (p *Print) Whole(ctx context.Context, w, h int) (raster.Pixels, error) {
	return resize(ctx, p.light, p.pixels(), p.layout.Whole, w, h)
}

// Resize brings a picture to w by h pixels of 16 bits, in linear light. source says
// what its numbers are.
func Resize(ctx context.Context, e Engine, source *proof.Profile, px raster.Pixels, w, h int) (raster.Pixels, error) {
	light, err := newLight(e, source)
	if err != nil {
		return raster.Pixels{}, err
	}
	return resize(ctx, light, px, image.Rect(0, 0, px.W, px.H), w, h)
}

func resize(ctx context.Context, l *light, px raster.Pixels, part image.Rectangle, w, h int) (raster.Pixels, error) {
	out := raster.New(w, h, px.Channels, true)
	return out, newScaler(l, px, part, w, h).store(ctx, out)
}
