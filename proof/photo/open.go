package photo

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"firstsheet/proof/raster"
)

// Open reads the picture file at path.
//
// What comes back is upright, with the file's own numbers; see [Picture]. Errors
// are *[Error], whose Kind says what is wrong with which file; when ctx ends, its
// error comes back instead and nothing is kept. A picture that ends early is
// Damaged, even if part of it could be shown.
//
// The file is read whole into memory and closed before it is decoded. What would take
// more than [MaxMemory] with the file, or far more work than a picture is worth, is
// refused before it is begun.
func Open(ctx context.Context, path string) (*Picture, error) {
	data, err := readFile(ctx, path, defaultLimits())
	if err != nil {
		return nil, at(path, readKind(err), err)
	}
	return decode(ctx, path, data, defaultLimits())
}

// OpenReader is [Open] for a picture that is no file of its own; name stands for
// the path in errors and in Picture.Path.
func OpenReader(ctx context.Context, name string, r io.Reader) (*Picture, error) {
	data, err := readAll(ctx, r, nil, defaultLimits())
	if err != nil {
		return nil, at(name, NotReadable, err)
	}
	return decode(ctx, name, data, defaultLimits())
}

func readFile(ctx context.Context, path string, lim limits) ([]byte, error) {
	f, err := openFile(path, lim.file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	// The buffer grows, to twice its size, where less than MinRead is free to find the end in.
	return readAll(ctx, f, make([]byte, 0, f.Size()+bytes.MinRead), lim)
}

// readAll appends what r holds to buf.
func readAll(ctx context.Context, r io.Reader, buf []byte, lim limits) ([]byte, error) {
	b := bytes.NewBuffer(buf)
	n, err := b.ReadFrom(io.LimitReader(&ctxReader{ctx, r}, lim.file+1))
	if err != nil {
		return nil, err
	}
	if n > lim.file {
		return nil, tooLarge("more than %d bytes", lim.file)
	}
	return b.Bytes(), nil
}

// decoded is what a format's reader found.
type decoded struct {
	*Picture
	format string // where it is known only from within, else empty
	icc    []byte
	named  namedSpace // by other means than a profile and Exif
	exif   exifFacts
	meta   Metadata // shares memory with the file
	unread
}

// unread are samples that are still to be read. rest is nil when none are.
type unread struct {
	rest   rowReader
	stored int   // channels; grey ones may stand for red, green and blue
	size   int64 // bytes that they take as a whole, with what is held of the file
	whole  bool  // they cannot be read by rows
}

func decode(ctx context.Context, path string, data []byte, lim limits) (*Picture, error) {
	r, err := begin(ctx, path, memory(data), lim)
	if err != nil {
		return nil, err
	}
	defer giveBack(r.Picture)
	if err := r.Whole(ctx); err != nil {
		return nil, err
	}
	return r.Picture, nil
}

// begin reads what it must before the rows of a picture can be read.
func begin(ctx context.Context, path string, src source, lim limits) (*Reading, error) {
	d, err := decodeAny(ctx, src, lim)
	// A decoder that was stopped reports a broken stream.
	if ctx.Err() != nil {
		err = ctx.Err()
	}
	if err == nil && d.rest == nil {
		_, err = d.upright(ctx, d.exif.orientation)
	}
	if err != nil {
		if d.rest != nil {
			d.rest.Close()
		}
		return nil, at(path, Damaged, err)
	}
	d.Path = path
	d.whole = d.whole || turned(d.exif.orientation)
	return &Reading{
		Picture: d.Picture, path: path, unread: d.unread, orientation: d.exif.orientation,
		spare8: raster.NewSpare[uint8](), spare16: raster.NewSpare[uint16](),
	}, nil
}

func decodeAny(ctx context.Context, src source, lim limits) (decoded, error) {
	head, err := piece(src, 0, min(src.Size(), sniffed))
	if err != nil {
		return decoded{}, err
	}
	name, read, err := sniff(head)
	if err != nil {
		return decoded{}, err
	}
	d, err := read(ctx, src, lim)
	if err != nil {
		return decoded{}, err
	}
	d.Format = cmp.Or(d.format, name)
	d.Metadata = d.meta.kept()
	if !d.named.first {
		d.setICC(d.icc)
	}
	d.nameSpace(d.named, d.exif)
	return d, nil
}

// upright turns the samples as Exif orientation o says.
func (p *Picture) upright(ctx context.Context, o int) (*Picture, error) {
	var err error
	w, h := p.W, p.H
	if p.Alpha, _, _, err = orient(ctx, p.Alpha, w, h, 1, o); err != nil {
		return nil, err
	}
	if p.Depth == 16 {
		p.Pix16, p.W, p.H, err = orient(ctx, p.Pix16, w, h, p.Channels, o)
	} else {
		p.Pix8, p.W, p.H, err = orient(ctx, p.Pix8, w, h, p.Channels, o)
	}
	if err != nil {
		return nil, err
	}
	return p, nil
}

type reader func(ctx context.Context, src source, lim limits) (decoded, error)

// inMemory reads a format whose decoder wants the file as a whole.
func inMemory(read func(ctx context.Context, data memory, lim limits) (decoded, error)) reader {
	return func(ctx context.Context, src source, lim limits) (decoded, error) {
		if m, ok := src.(memory); ok {
			return read(ctx, m, lim)
		}
		if src.Size() > lim.file {
			return decoded{}, tooLarge("the file has %d bytes; at most %d are read", src.Size(), lim.file)
		}
		data, err := readAll(ctx, io.NewSectionReader(src, 0, src.Size()), make([]byte, 0, src.Size()+bytes.MinRead), lim)
		if err != nil {
			return decoded{}, err
		}
		return read(ctx, data, lim)
	}
}

// sniffed is how much of a file is looked at to tell its format.
const sniffed = 256

// sniff tells the format by the first bytes; the name's ending does not matter.
func sniff(data []byte) (string, reader, error) {
	has := func(offset int, magic string) bool {
		return len(data) >= offset+len(magic) && string(data[offset:offset+len(magic)]) == magic
	}
	switch {
	case len(data) == 0:
		return "", nil, notAPicture("the file is empty")
	case has(0, "\xff\xd8\xff"):
		return "JPEG", inMemory(readJPEG), nil
	case has(0, pngSignature):
		return "PNG", readPNG, nil
	case has(0, "RIFF") && has(8, "WEBP"):
		return "WebP", inMemory(readWebP), nil
	case has(0, "II*\x00"), has(0, "MM\x00*"), has(0, "II+\x00"), has(0, "MM\x00+"):
		if !has(8, "CR\x02\x00") {
			return "TIFF", readTIFF, nil
		}
	case has(4, "ftyp"):
		return sniffBoxes(data)
	}
	for _, k := range others {
		if has(k.offset, k.magic) {
			return "", nil, advice(k.name)
		}
	}
	return "", nil, notAPicture("it starts with %q", data[:min(len(data), 12)])
}

// guarded is the one place where decoders that were written elsewhere are
// called. What they say about a broken file becomes an *Error, and so does a
// panic: lengths and sizes have been checked before, but their authors and ours
// may have overlooked something, and the window must live on.
func guarded[T any](format string, call func() (T, error)) (v T, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = damaged("%s: the decoder gave up: %v", format, r)
		}
	}()
	v, err = call()
	if err == nil {
		return v, nil
	}
	if _, ok := errors.AsType[*Error](err); ok {
		return v, err
	}
	text := err.Error()
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) {
		return v, &Error{Kind: Damaged, Err: fmt.Errorf("%s: the file ends early: %w", format, err)}
	}
	// The libraries' UnsupportedError types differ but all say so.
	if strings.Contains(text, "unsupported") {
		return v, &Error{Kind: Unsupported, Err: fmt.Errorf("%s: %w", format, err)}
	}
	return v, &Error{Kind: Damaged, Err: fmt.Errorf("%s: %w", format, err)}
}
