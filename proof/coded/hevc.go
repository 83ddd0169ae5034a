//go:build !noheic

package coded

import (
	"context"
	_ "embed"
	"encoding/binary"
	"errors"
	"sync"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/experimental"
)

// HEVC tells whether this build of the program decodes HEVC.
const HEVC = true

//go:embed hevc.wasm
var program []byte

// compiled is the decoder as machine code, made when the first picture is met: a fifth of a
// second. It never changes and holds no picture, so the whole program has one.
var compiled = sync.OnceValues(func() (*translated, error) {
	ctx := context.Background()
	// That wazero looks at the context itself, at every turn of every loop, takes six times
	// as long; the decoder asks here after each block instead.
	r := wazero.NewRuntime(ctx)
	stopped := func(ctx context.Context) uint32 {
		if ctx.Err() != nil {
			return 1
		}
		return 0
	}
	if _, err := r.NewHostModuleBuilder("host").NewFunctionBuilder().WithFunc(stopped).Export("stopped").Instantiate(ctx); err != nil {
		return nil, err
	}
	module, err := r.CompileModule(ctx, program)
	if err != nil {
		return nil, err
	}
	return &translated{r, module}, nil
})

type translated struct {
	runtime wazero.Runtime
	module  wazero.CompiledModule
}

// Decoder decodes pictures one after the other. It is for one goroutine at a time.
type Decoder struct {
	module api.Module
	memory *memory
	pixels int
}

// Memory returns how many bytes decoding one picture takes at most, as measured: the program, the
// picture, its luma once more, what is kept of its blocks, and the units twice.
func Memory(pixels int, c Chroma, bits, units int) int64 {
	const program = 2 << 20
	bytes := int64(1)
	if bits > 8 {
		bytes = 2
	}
	return program + int64(pixels)*(bytes*(2+c.Samples())+3)/2 + 3*int64(units)
}

// Fits reports whether a picture that takes so much memory can still be decoded.
func (d *Decoder) Fits(memory int64) bool { return uint64(memory) <= d.memory.most }

// NewDecoder returns a decoder for pictures of at most so many pixels and so much memory
// ([Memory]). Close frees what it holds.
func NewDecoder(ctx context.Context, pixels int, most int64) (*Decoder, error) {
	t, err := compiled()
	if err != nil {
		return nil, err
	}
	const least = 1 << 20 // what its program begins with, and more
	if most < least {
		return nil, &Error{Room: true}
	}
	d := &Decoder{pixels: pixels, memory: newMemory(uint64(most))}
	ctx = experimental.WithMemoryAllocator(ctx, experimental.MemoryAllocatorFunc(func(_, _ uint64) experimental.LinearMemory { return d.memory }))
	d.module, err = t.runtime.InstantiateModule(ctx, t.module, wazero.NewModuleConfig().WithName("").WithStartFunctions("_initialize"))
	if err != nil {
		return nil, d.explain(ctx, err)
	}
	return d, nil
}

// Close frees the decoder's memory. What [Decoder.Decode] gave is gone with it.
func (d *Decoder) Close() error { return d.module.Close(context.Background()) }

// Decode returns the picture that units code: parameter sets and slices of one picture, each
// after its length as four bytes, highest first. Its planes lie in the decoder's memory, until the
// next call.
//
// A picture that ends early or is wrong anywhere is refused by an *[Error]. When ctx ends,
// so does the decoding, and its error comes back. After an error the decoder is of no more use.
func (d *Decoder) Decode(ctx context.Context, units []byte) (Picture, error) {
	at, err := d.call(ctx, "room", uint64(len(units)))
	if err != nil {
		return Picture{}, err
	}
	if at == 0 || !d.module.Memory().Write(uint32(at), units) {
		return Picture{}, &Error{Room: true}
	}
	code, err := d.call(ctx, "decode", at, uint64(len(units)), uint64(d.pixels))
	if err != nil {
		return Picture{}, err
	}
	const noMemory = 7
	if code != 0 {
		return Picture{}, &Error{Room: code == noMemory, Code: int(code)}
	}
	if at, err = d.call(ctx, "picture"); err != nil {
		return Picture{}, err
	}
	return d.picture(uint32(at))
}

func (d *Decoder) call(ctx context.Context, name string, args ...uint64) (uint64, error) {
	out, err := d.module.ExportedFunction(name).Call(ctx, args...)
	if err != nil {
		return 0, d.explain(ctx, err)
	}
	return out[0], nil
}

func (d *Decoder) explain(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return &Error{Room: d.memory.refused, Err: err}
}

var errPlanes = errors.New("planes that cannot be")

// picture reads what hevc.c tells of the decoded picture.
func (d *Decoder) picture(at uint32) (Picture, error) {
	const numbers = 1 + 3*5
	told, ok := d.module.Memory().Read(at, 4*numbers)
	if !ok {
		return Picture{}, &Error{Err: errPlanes}
	}
	next := func() uint32 {
		v := binary.LittleEndian.Uint32(told)
		told = told[4:]
		return v
	}
	p := Picture{Chroma: Chroma(next() & 3)}
	for i := range p.Planes {
		at, stride, w, h, bits := next(), next(), next(), next(), next()
		if i > 0 && p.Chroma == Grey {
			break
		}
		plane, ok := d.plane(at, stride, w, h, bits)
		if !ok || i > 0 && int(bits) != p.Bits {
			return Picture{}, &Error{Err: errPlanes}
		}
		p.Planes[i], p.Bits = plane, int(bits)
	}
	p.W, p.H = p.Planes[0].W, p.Planes[0].H
	cw, ch := p.Chroma.reduced(p.W, p.H)
	for _, c := range p.Planes[1:] {
		if c.W != cw || c.H != ch {
			return Picture{}, &Error{Err: errPlanes}
		}
	}
	return p, nil
}

// plane checks what is told of one plane and returns it.
func (d *Decoder) plane(at, stride, w, h, bits uint32) (Plane, bool) {
	size := uint32(1)
	if bits > 8 {
		size = 2
	}
	if w == 0 || h == 0 || bits < 8 || bits > 16 || uint64(w)*uint64(h) > uint64(d.pixels) || uint64(stride) < uint64(w)*uint64(size) {
		return Plane{}, false
	}
	end := uint64(stride)*uint64(h-1) + uint64(w)*uint64(size)
	if end > uint64(d.module.Memory().Size()) {
		return Plane{}, false
	}
	pix, ok := d.module.Memory().Read(at, uint32(end))
	return Plane{int(w), int(h), int(stride), int(size), pix}, ok
}
