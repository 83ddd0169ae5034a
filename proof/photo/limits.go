package photo

// Limits on what is accepted. They stand far above what a photographer has and
// low enough that a hostile file cannot exhaust the machine.
const (
	// MaxPixels admits the largest sensors (about 150 megapixels in 2024) and
	// stitched panoramas; at 8 bits and three channels it is 1.2 GB of samples. What a
	// picture takes to open is bounded by MaxMemory.
	MaxPixels = 400_000_000

	// MaxRowPixels is the most that are read row by row where the format lets it: a panorama of
	// thirty frames of 24 megapixels.
	MaxRowPixels = 1 << 30

	// MaxFileBytes admits an uncompressed 16-bit TIFF with four channels of 200
	// megapixels (1.6 GB). Files are read whole, so that a program that saves the
	// picture anew meanwhile cannot change it under the decoder; by rows that is found out.
	MaxFileBytes = 2 << 30

	// MaxRowFileBytes is the same for files that are read by rows, and not into memory: what the
	// offsets of a TIFF reach.
	MaxRowFileBytes = 4 << 30

	// MaxICCBytes is what a JPEG can carry at most (255 chunks of 65,519 bytes,
	// 15.9 MiB), rounded up. Profiles of real papers have 0.1 to 4 MB.
	MaxICCBytes = 16 << 20

	// maxChunk is the longest chunk of a PNG that is looked at: of a profile that deflates badly.
	maxChunk = MaxICCBytes + 1<<20

	// maxDirEntries bounds a TIFF directory; real ones have fewer than 100.
	maxDirEntries = 4096

	// maxTag bounds the value of a tag: the offsets of sixteen million blocks.
	maxTag = 64 << 20

	// maxDirs bounds the chain of TIFF directories that is followed. Pyramids
	// have about 10, scans of documents hundreds; only the first pictures count.
	maxDirs = 64
)

// How many samples a compressed byte can stand for at most. A header that
// promises more than the file could possibly hold is damage or malice, found
// before memory is taken.
const (
	// deflateMaxRatio: RFC 1951 codes 258 bytes in 2 bits at best (1032 to 1).
	deflateMaxRatio = 1032

	// lzwMaxRatio: a 12-bit code stands for at most 4,094 bytes (2730 to 1).
	lzwMaxRatio = 2730

	// packBitsMaxRatio: two bytes stand for at most 128.
	packBitsMaxRatio = 64

	// jpegMaxPixels: each block of 64 pixels costs at least one bit in the first
	// scan (T.81, F.1.2.1: no Huffman code is shorter), so 512 pixels a byte.
	jpegMaxPixels = 512

	// ratioSlack keeps the rules above from refusing tiny pictures, whose size is
	// dominated by headers.
	ratioSlack = 1 << 16
)

// limits are the bounds that one call works under; tests lower them.
type limits struct {
	pixels int64
	file   int64
	memory int64 // 0: MaxMemory
	rows   int64 // pixels of what is read by rows where it can be; 0 where all is read whole
}

// forRows are the limits of a picture that is read by rows, where that is meant and possible.
func (l limits) forRows(possible bool) limits {
	if !possible {
		l.rows = 0
	}
	l.pixels = max(l.pixels, l.rows)
	return l
}

func defaultLimits() limits { return limits{pixels: MaxPixels, file: MaxFileBytes} }

// check refuses sizes that are empty or too large. w and h are as the header
// says, before anything is allocated.
func (l limits) check(w, h int64) error {
	if w <= 0 || h <= 0 {
		return damaged("the header says %d x %d pixels", w, h)
	}
	if w > l.pixels || h > l.pixels || w*h > l.pixels {
		return tooLarge("%d x %d pixels; at most %d are opened", w, h, l.pixels)
	}
	return nil
}
