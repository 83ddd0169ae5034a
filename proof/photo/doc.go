// Package photo reads picture files into plain samples with the colour meaning
// that the file states, and writes such samples back.
//
//	file -> bytes -> header checked -> samples -> alpha over paper -> upright -> Picture
//
// Specifications: ITU-T T.81 and T.871 (JPEG, JFIF), W3C PNG (third edition),
// TIFF 6.0 with its supplements, the WebP container with RFC 6386, ISO/IEC 14496-12
// and 23008-12 (HEIF), Exif 2.3, and annex B of ICC.1 for embedding profiles.
//
// Pixels of JPEG are decoded and encoded by libjpeg-turbo, those of WebP decoded by
// golang.org/x/image. The samples of PNG and TIFF are laid out here, by rows: the standard library's
// reader of PNG wants the whole picture in memory, and that of golang.org/x/image for TIFF knows
// neither CMYK nor separate planes nor additional channels, all of them common in pictures for
// print. What they are compressed by is undone by libraries. The coded pictures of HEIC
// (package coded) and AVIF are decoded by C libraries that run as WebAssembly, in which nothing of
// the machine can be reached; never by the system's, which the binding for AVIF would
// prefer. The container is read here. What the containers say about colour
// and orientation is read here as well: of the metadata readers at hand none
// returns a TIFF's profile or a PNG's gAMA and cHRM, and none bounds what a
// compressed profile may grow to. The tests compare with such a reader.
//
// Files are written here, band by band and on all cores: the standard library's
// encoder of PNG wants the whole picture in memory, and that of golang.org/x/image for TIFF
// knows neither inks nor LZW. Samples of 16 bits go into a JPEG unrounded, for which they
// are transformed here and only coded by the library.
//
// Everything in a file is taken for hostile: sizes are compared with the limits
// in limits.go and with what the file could hold before memory is taken.
//
// Left out on purpose: camera raw, layered documents, animation, floating point
// samples, HDR, and any conversion of colour. Numbers leave this package as
// they are in the file.
package photo
