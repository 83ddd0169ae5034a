// Package lcms is a thin binding to the system's Little CMS 2. It has no policy:
// every profile, intent and flag is named by the caller.
//
// Devicelink precalculation, gamut alarms and named colours are deliberately left out. The
// library's own proofing transform is there to be measured against only: the engine chains
// two-profile transforms itself.
//
// Everything that holds memory of the library has an idempotent Close. Numbers of
// a device run from 0 to 1 per channel here, also for ink spaces, where the
// library itself counts to 100.
package lcms

/*
#cgo pkg-config: lcms2
#include <lcms2.h>
#include <stdlib.h>
#include <string.h>

// The library reports errors by a callback in the middle of a call. The text is
// kept in C, one buffer a context, so that no Go code runs inside the library.
typedef struct { char text[512]; } fs_log;

static void fs_on_error(cmsContext ctx, cmsUInt32Number code, const char *text) {
	fs_log *log = (fs_log *)cmsGetContextUserData(ctx);
	(void)code;
	if (log && !log->text[0]) strncpy(log->text, text, sizeof log->text - 1);
}

static cmsContext fs_context(fs_log **log) {
	*log = calloc(1, sizeof **log);
	if (!*log) return NULL;
	cmsContext ctx = cmsCreateContext(NULL, *log);
	if (!ctx) { free(*log); return NULL; }
	cmsSetLogErrorHandlerTHR(ctx, fs_on_error);
	return ctx;
}

static cmsHPROFILE fs_rgb(cmsContext ctx, const double *xy, const double *curve) {
	cmsCIExyY white = {xy[6], xy[7], 1};
	cmsCIExyYTRIPLE p = {{xy[0], xy[1], 1}, {xy[2], xy[3], 1}, {xy[4], xy[5], 1}};
	cmsToneCurve *c = cmsBuildParametricToneCurve(ctx, 4, curve);
	if (!c) return NULL;
	cmsToneCurve *three[3] = {c, c, c};
	cmsHPROFILE h = cmsCreateRGBProfileTHR(ctx, &white, &p, three);
	cmsFreeToneCurve(c);
	return h;
}

// Ink spaces count to 100 in the library's floating point formats.
static double fs_full_scale(cmsColorSpaceSignature s) {
	switch (s) {
	case cmsSigCmykData: case cmsSigCmyData:
	case cmsSigMCH1Data: case cmsSigMCH2Data: case cmsSigMCH3Data: case cmsSigMCH4Data:
	case cmsSigMCH5Data: case cmsSigMCH6Data: case cmsSigMCH7Data: case cmsSigMCH8Data:
	case cmsSigMCH9Data: case cmsSigMCHAData: case cmsSigMCHBData: case cmsSigMCHCData:
	case cmsSigMCHDData: case cmsSigMCHEData: case cmsSigMCHFData:
	case cmsSig1colorData: case cmsSig2colorData: case cmsSig3colorData: case cmsSig4colorData:
	case cmsSig5colorData: case cmsSig6colorData: case cmsSig7colorData: case cmsSig8colorData:
	case cmsSig9colorData: case cmsSig10colorData: case cmsSig11colorData: case cmsSig12colorData:
	case cmsSig13colorData: case cmsSig14colorData: case cmsSig15colorData:
		return 100;
	default:
		return 1;
	}
}

// fs_run transforms n colours in slices small enough for the stack. A scale other
// than 1 divides or multiplies every channel on the way.
static void fs_run(cmsHTRANSFORM t, const double *in, double *out, size_t n,
                   int nin, int nout, double scale_in, double scale_out) {
	double a[64 * 16], b[64 * 16];
	while (n) {
		size_t k = n < 64 ? n : 64;
		const double *src = in;
		if (scale_in != 1) {
			for (size_t i = 0; i < k * (size_t)nin; i++) a[i] = in[i] * scale_in;
			src = a;
		}
		cmsDoTransform(t, src, b, (cmsUInt32Number)k);
		if (scale_out != 1) for (size_t i = 0; i < k * (size_t)nout; i++) out[i] = b[i] / scale_out;
		else memcpy(out, b, k * (size_t)nout * sizeof *b);
		in += k * (size_t)nin; out += k * (size_t)nout; n -= k;
	}
}

static void fs_run8(cmsHTRANSFORM t, const void *in, void *out, size_t n) {
	cmsDoTransform(t, in, out, (cmsUInt32Number)n);
}
*/
import "C"

import (
	"errors"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"unsafe"

	"firstsheet/proof/cie"
	"firstsheet/proof/space"
	"firstsheet/proof/words"
)

// MaxChannels is the most channels a profile or transform may have: the library's
// own limit is 16.
const MaxChannels = 15

// Error is a refusal of the library, with its own message.
type Error struct{ Op, Message string }

func (e *Error) Error() string { return "lcms: " + e.Op + ": " + e.Message }

var live atomic.Int64

// Live returns how many contexts, profiles and transforms are open in the
// program: 0 after everything is closed, which tests check.
func Live() int { return int(live.Load()) }

// Context keeps the library's state of one job apart from all others. Its methods
// may be called from several goroutines; they take turns.
type Context struct {
	mu  sync.Mutex
	ctx C.cmsContext
	log *C.fs_log
}

// NewContext returns a new context. It fails only when memory is out.
func NewContext() (*Context, error) {
	c := &Context{}
	c.ctx = C.fs_context(&c.log)
	if c.ctx == nil {
		return nil, &Error{"new context", "out of memory"}
	}
	live.Add(1)
	runtime.AddCleanup(c, func(p *C.fs_log) { C.free(unsafe.Pointer(p)) }, c.log)
	return c, nil
}

// Close releases the context. All its profiles and transforms must be closed.
func (c *Context) Close() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.ctx != nil {
		C.cmsDeleteContext(c.ctx)
		c.ctx = nil
		live.Add(-1)
	}
}

// begin clears the message buffer; the caller holds mu.
func (c *Context) begin(op string) error {
	if c.ctx == nil {
		return &Error{op, "the context is closed"}
	}
	c.log.text[0] = 0
	return nil
}

// failure makes an error of what the library said; the caller holds mu.
func (c *Context) failure(op string) error {
	message := words.Clean(C.GoString(&c.log.text[0]), 0) // it quotes the profile's bytes
	if message == "" {
		message = "the library gives no reason"
	}
	return &Error{op, message}
}

// Profile is an opened profile.
type Profile struct {
	c        *Context
	h        C.cmsHPROFILE
	channels int
}

func (c *Context) profile(h C.cmsHPROFILE) *Profile {
	live.Add(1)
	return &Profile{c: c, h: h, channels: int(C.cmsChannelsOf(C.cmsGetColorSpace(h)))}
}

// Open opens a profile from its bytes, which it copies.
func (c *Context) Open(data []byte) (*Profile, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	const op = "open profile"
	if err := c.begin(op); err != nil {
		return nil, err
	}
	if len(data) == 0 {
		return nil, &Error{op, "no data"}
	}
	h := C.cmsOpenProfileFromMemTHR(c.ctx, unsafe.Pointer(&data[0]), C.cmsUInt32Number(len(data)))
	if h == nil {
		return nil, c.failure(op)
	}
	p := c.profile(h)
	if p.channels < 1 || p.channels > MaxChannels {
		p.Close()
		return nil, &Error{op, fmt.Sprintf("%d channels", p.channels)}
	}
	return p, nil
}

// RGB makes a matrix profile of a built-in space at full precision, without the
// rounding that a profile in a file has.
func (c *Context) RGB(s space.Space) (*Profile, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	const op = "make RGB profile"
	if err := c.begin(op); err != nil {
		return nil, err
	}
	xy := [8]C.double{
		C.double(s.Red[0]), C.double(s.Red[1]), C.double(s.Green[0]), C.double(s.Green[1]),
		C.double(s.Blue[0]), C.double(s.Blue[1]), C.double(s.White[0]), C.double(s.White[1]),
	}
	k := s.Curve
	curve := [5]C.double{C.double(k.G), C.double(k.A), C.double(k.B), C.double(k.C), C.double(k.D)}
	h := C.fs_rgb(c.ctx, &xy[0], &curve[0])
	if h == nil {
		return nil, c.failure(op)
	}
	return c.profile(h), nil
}

// Lab opens the profile connection space itself: CIELAB under D50.
func (c *Context) Lab() (*Profile, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	const op = "make Lab profile"
	if err := c.begin(op); err != nil {
		return nil, err
	}
	h := C.cmsCreateLab4ProfileTHR(c.ctx, nil)
	if h == nil {
		return nil, c.failure(op)
	}
	return c.profile(h), nil
}

// Channels returns how many channels a colour of the profile's device side has.
func (p *Profile) Channels() int { return p.channels }

// Close releases the profile. Transforms made of it stay good.
func (p *Profile) Close() {
	p.c.mu.Lock()
	defer p.c.mu.Unlock()
	if p.h != nil {
		C.cmsCloseProfile(p.h)
		p.h = nil
		live.Add(-1)
	}
}

// Black returns the darkest colour the profile's device reaches with that intent
// (0 to 3, as in ICC.1), as the library detects it: relative XYZ, D50.
func (p *Profile) Black(intent int) (cie.XYZ, error) {
	p.c.mu.Lock()
	defer p.c.mu.Unlock()
	const op = "detect black"
	if err := p.c.begin(op); err != nil {
		return cie.XYZ{}, err
	}
	var black C.cmsCIEXYZ
	if C.cmsDetectDestinationBlackPoint(&black, p.h, C.cmsUInt32Number(intent), 0) == 0 {
		return cie.XYZ{}, p.c.failure(op)
	}
	return cie.XYZ{X: float64(black.X), Y: float64(black.Y), Z: float64(black.Z)}, nil
}

// Transform takes colours of one profile to another. It may be used from several
// goroutines at once.
type Transform struct {
	c                 *Context
	use               sync.RWMutex // held to read while the library runs, to write by Close
	t                 C.cmsHTRANSFORM
	in, out           int
	scaleIn, scaleOut float64
}

// Options of a transform.
type Options struct {
	Intent int // 0 to 3, as in ICC.1
	BPC    bool
}

var errClosed = errors.New("lcms: profile is closed")

// Float returns the unoptimised floating point transform from one profile's
// device space to another's.
func (c *Context) Float(from, to *Profile, o Options) (*Transform, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	const op = "make transform"
	if err := c.begin(op); err != nil {
		return nil, err
	}
	if from.h == nil || to.h == nil {
		return nil, errClosed
	}
	flags := C.cmsUInt32Number(C.cmsFLAGS_NOCACHE | C.cmsFLAGS_NOOPTIMIZE)
	if o.BPC {
		flags |= C.cmsFLAGS_BLACKPOINTCOMPENSATION
	}
	fin := C.cmsFormatterForColorspaceOfProfile(from.h, 0, 1)
	fout := C.cmsFormatterForColorspaceOfProfile(to.h, 0, 1)
	t := C.cmsCreateTransformTHR(c.ctx, from.h, fin, to.h, fout, C.cmsUInt32Number(o.Intent), flags)
	if t == nil {
		return nil, c.failure(op)
	}
	live.Add(1)
	return &Transform{
		c: c, t: t, in: from.channels, out: to.channels,
		scaleIn:  float64(C.fs_full_scale(C.cmsGetColorSpace(from.h))),
		scaleOut: float64(C.fs_full_scale(C.cmsGetColorSpace(to.h))),
	}, nil
}

// Proofing returns the library's own optimised 8-bit soft proof: from one profile
// through a paper to a screen, to measure against.
func (c *Context) Proofing(from, paper, to *Profile, o Options, back int) (*Transform, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	const op = "make proofing transform"
	if err := c.begin(op); err != nil {
		return nil, err
	}
	flags := C.cmsUInt32Number(C.cmsFLAGS_NOCACHE | C.cmsFLAGS_SOFTPROOFING)
	if o.BPC {
		flags |= C.cmsFLAGS_BLACKPOINTCOMPENSATION
	}
	fin := C.cmsFormatterForColorspaceOfProfile(from.h, 1, 0)
	fout := C.cmsFormatterForColorspaceOfProfile(to.h, 1, 0)
	t := C.cmsCreateProofingTransformTHR(c.ctx, from.h, fin, to.h, fout, paper.h,
		C.cmsUInt32Number(o.Intent), C.cmsUInt32Number(back), flags)
	if t == nil {
		return nil, c.failure(op)
	}
	live.Add(1)
	return &Transform{c: c, t: t, in: from.channels, out: to.channels}, nil
}

// Run transforms interleaved colours: len(src) is a multiple of the channels of
// the profile it came from, len(dst) the same number of colours in the other.
// Lab is L* 0 to 100. It panics when the lengths do not match, and when the
// transform is closed: the library is never handed what it has let go of.
func (t *Transform) Run(dst, src []float64) {
	defer t.begin()()
	n := len(src) / t.in
	if n*t.in != len(src) || n*t.out != len(dst) {
		panic(fmt.Sprintf("lcms: %d values of %d channels into %d of %d", len(src), t.in, len(dst), t.out))
	}
	if n == 0 {
		return
	}
	C.fs_run(t.t, (*C.double)(&src[0]), (*C.double)(&dst[0]), C.size_t(n),
		C.int(t.in), C.int(t.out), C.double(t.scaleIn), C.double(t.scaleOut))
}

// begin keeps the transform open until what it returns is called.
func (t *Transform) begin() (end func()) {
	t.use.RLock()
	if t.t == nil {
		t.use.RUnlock()
		panic("lcms: transform is closed")
	}
	return t.use.RUnlock
}

// RunBytes transforms interleaved bytes with a transform made by [Context.Proofing].
// It panics as [Transform.Run] does.
func (t *Transform) RunBytes(dst, src []byte) {
	defer t.begin()()
	n := len(src) / t.in
	if n*t.in != len(src) || n*t.out != len(dst) {
		panic(fmt.Sprintf("lcms: %d bytes of %d channels into %d of %d", len(src), t.in, len(dst), t.out))
	}
	if n > 0 {
		C.fs_run8(t.t, unsafe.Pointer(&src[0]), unsafe.Pointer(&dst[0]), C.size_t(n))
	}
}

// Channels returns how many channels go in and come out.
func (t *Transform) Channels() (in, out int) { return t.in, t.out }

// Close releases the transform, after waiting for those who are using it.
func (t *Transform) Close() {
	t.use.Lock()
	defer t.use.Unlock()
	t.c.mu.Lock()
	defer t.c.mu.Unlock()
	if t.t != nil {
		C.cmsDeleteTransform(t.t)
		t.t = nil
		live.Add(-1)
	}
}
