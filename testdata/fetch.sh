#!/bin/sh
# Fetches the profiles, measurements and photographs that the tests need from
# the distribution's own packages into testdata/cache, which git ignores.
#
#   testdata/fetch.sh            fetch what is missing
#   testdata/fetch.sh -check     fetch nothing; fail when something is missing
#
# Works on Debian and Ubuntu, as root or not: packages are downloaded and
# unpacked, never installed. Only the files listed below are kept. A second run
# takes no time and needs no network. testdata/README.md says what each file is.
set -eu

here=$(cd "$(dirname "$0")" && pwd)
cache=$here/cache

# package|path in the package (tar wildcard)|file in the cache
list='
texlive-base|*/colorprofiles/FOGRA39L_coated.icc|profiles/FOGRA39L_coated.icc
scribus-data|*/profiles/ISOcoated_v2_300_bas.icc|profiles/ISOcoated_v2_300_bas.icc
nip2|*/data/cmyk.icm|profiles/cmyk.icc
libgs-common|*/ghostscript/default_cmyk.icc|profiles/default_cmyk.icc
libgs-common|*/ghostscript/ps_cmyk.icc|profiles/ps_cmyk.icc
libgs-common|*/ghostscript/default_gray.icc|profiles/default_gray.icc
libgs-common|*/ghostscript/sgray.icc|profiles/sgray.icc
libgs-common|*/ghostscript/lab.icc|profiles/lab.icc
libgs-common|*/ghostscript/srgb.icc|profiles/srgb_v2.icc
libgs-common|*/ghostscript/a98.icc|profiles/a98.icc
libgs-common|*/ghostscript/rommrgb.icc|profiles/rommrgb.icc
colord-data|*/colord/sRGB.icc|profiles/sRGB.icc
colord-data|*/colord/AdobeRGB1998.icc|profiles/AdobeRGB1998.icc
colord-data|*/colord/ProPhotoRGB.icc|profiles/ProPhotoRGB.icc
colord-data|*/colord/ECI-RGBv1.icc|profiles/ECI-RGBv1.icc
colord-data|*/colord/ECI-RGBv2.icc|profiles/ECI-RGBv2.icc
colord-data|*/colord/WideGamutRGB.icc|profiles/WideGamutRGB.icc
colord-data|*/colord/SwappedRedAndGreen.icc|profiles/SwappedRedAndGreen.icc
colord-data|*/colord/Crayons.icc|profiles/Crayons.icc
colord-data|*/colord/Bluish.icc|profiles/Bluish.icc
icc-profiles-free|*/color/icc/LStar-RGB.icc|profiles/LStar-RGB.icc
icc-profiles-free|*/color/icc/Gray-CIE_L.icc|profiles/Gray-CIE_L.icc
icc-profiles-free|*/color/icc/ITULab.icc|profiles/ITULab.icc
icc-profiles-free|*/color/icc/LCMSLABI.ICM|profiles/lab_identity.icc
icc-profiles-free|*/color/icc/FOGRA28L.ti3|measurements/FOGRA28L.ti3
icc-profiles-free|*/color/icc/FOGRA29L.ti3|measurements/FOGRA29L.ti3
icc-profiles-free|*/color/icc/FOGRA30L.ti3|measurements/FOGRA30L.ti3
icc-profiles-free|*/color/icc/FOGRA39L.ti3|measurements/FOGRA39L.ti3
icc-profiles-free|*/color/icc/FOGRA40L.ti3|measurements/FOGRA40L.ti3
icc-profiles-free|*/color/icc/TR002.ti3|measurements/TR002.ti3
icc-profiles-free|*/color/icc/TR003.ti3|measurements/TR003.ti3
icc-profiles-free|*/color/icc/TR005.ti3|measurements/TR005.ti3
icc-profiles-free|*/color/icc/TR006.ti3|measurements/TR006.ti3
libjxl-testdata|*/jxl/flower/flower.png|photos/flower.png
libjxl-testdata|*/jxl/flower/flower_alpha.png|photos/flower_alpha.png
libjxl-testdata|*/jxl/flower/flower.png.im_q85_420.jpg|photos/flower_420.jpg
libjxl-testdata|*/jxl/flower/flower.png.im_q85_420_progr.jpg|photos/flower_progressive.jpg
libjxl-testdata|*/jxl/flower/flower.png.im_q85_422.jpg|photos/flower_422.jpg
libjxl-testdata|*/jxl/flower/flower.png.im_q85_440.jpg|photos/flower_440.jpg
libjxl-testdata|*/jxl/flower/flower.png.im_q85_444.jpg|photos/flower_444.jpg
libjxl-testdata|*/jxl/flower/flower.png.im_q85_gray.jpg|photos/flower_grey.jpg
libjxl-testdata|*/jxl/flower/flower.png.im_q85_rgb.jpg|photos/flower_rgb.jpg
libjxl-testdata|*/jxl/flower/flower_cropped.jpg|photos/flower_cropped.jpg
libjxl-testdata|*/jxl/flower/flower_small.q85_444_non_interleaved.jpg|photos/flower_separate_scans.jpg
libjxl-testdata|*/jxl/grayscale_patches.png|photos/grey_patches.png
libjxl-testdata|*/jxl/jpeg_reconstruction/1x1_exif_xmp.jpg|photos/1x1_exif.jpg
libjxl-testdata|*/wide-gamut-tests/P3-sRGB-color-ring.png|photos/p3_ring.png
libjxl-testdata|*/wide-gamut-tests/P3-sRGB-red.png|photos/p3_red.png
libjxl-testdata|*/wide-gamut-tests/P3-sRGB-color-bars.png|photos/p3_bars.png
libjxl-testdata|*/wide-gamut-tests/R2020-sRGB-color-ring.png|photos/rec2020_ring.png
libjxl-testdata|*/wide-gamut-tests/R2020-sRGB-red.png|photos/rec2020_red.png
libjxl-testdata|*/wide-gamut-tests/rgb-to-gbr-test.png|photos/swapped_channels.png
libjxl-testdata|*/wesaturate/500px/cvo9xd_*_srgb8.png|photos/cat_srgb.png
libjxl-testdata|*/wesaturate/500px/cvo9xd_*_grayscale.png|photos/cat_grey.png
libjxl-testdata|*/wesaturate/500px/tmshre_*_srgb8.png|photos/shore_srgb.png
libjxl-testdata|*/wesaturate/500px/tmshre_*_alpha.png|photos/shore_alpha.png
libjxl-testdata|*/wesaturate/500px/u76c0g_*_srgb8.png|photos/scene_srgb.png
libjxl-testdata|*/wesaturate/64px/l1qnb5_*_2020_g1.png|photos/small_rec2020_linear16.png
libjxl-testdata|*/wesaturate/64px/l1qnb5_*_srgb8.png|photos/small_rec2020_linear16_as_srgb8.png
libjxl-testdata|*/wesaturate/64px/t0gho7_*_709_g1.png|photos/small_rec709_linear16.png
libjxl-testdata|*/wesaturate/64px/t0gho7_*_srgb8.png|photos/small_rec709_linear16_as_srgb8.png
libjxl-testdata|*/raw.pixls/*-16bit_709_v4_*.png|photos/small_rec709_v4_16.png
libjxl-testdata|*/pngsuite/ccwn2c08.png|photos/png_chrm_rgb.png
libjxl-testdata|*/pngsuite/ccwn3p08.png|photos/png_chrm_palette.png
libjxl-testdata|*/pngsuite/g04n2c08.png|photos/png_gamma045_rgb.png
libjxl-testdata|*/pngsuite/g10n3p04.png|photos/png_gamma100_palette4.png
libjxl-testdata|*/pngsuite/exif2c08.png|photos/png_exif.png
libjxl-testdata|*/pngsuite/ct1n0g04.png|photos/png_grey4.png
python3-skimage|*/skimage/data/astronaut.png|photos/portrait.png
python3-skimage|*/skimage/data/coffee.png|photos/coffee.png
python3-skimage|*/skimage/data/chelsea.png|photos/tabby.png
python3-skimage|*/skimage/data/rocket.jpg|photos/rocket.jpg
python3-skimage|*/skimage/data/chessboard_GRAY_U16.tif|photos/chessboard_grey16.tif
python3-skimage|*/skimage/data/chessboard_GRAY_U16B.tif|photos/chessboard_grey16_bigendian.tif
'

say() { printf 'testdata/fetch.sh: %s\n' "$*" >&2; }

# missing PACKAGE prints the lines of that package (all, when empty) whose file
# is not in the cache yet.
missing() {
	printf '%s\n' "$list" | while IFS='|' read -r pkg path dest; do
		[ -n "$pkg" ] || continue
		[ -z "$1" ] || [ "$pkg" = "$1" ] || continue
		[ -s "$cache/$dest" ] || printf '%s|%s|%s\n' "$pkg" "$path" "$dest"
	done
}

todo=$(missing '')
[ -n "$todo" ] || exit 0

if [ "${1:-}" = -check ]; then
	say "missing in testdata/cache (run testdata/fetch.sh):"
	printf '%s\n' "$todo" | sed 's/.*|/  /' >&2
	exit 1
fi

for tool in apt-get dpkg-deb tar; do
	if ! command -v $tool >/dev/null 2>&1; then
		say "$tool is not here; this script needs Debian or Ubuntu. testdata/README.md lists the files; put them into testdata/cache by hand"
		exit 1
	fi
done

mkdir -p "$cache"
# One fetch at a time: whoever comes second waits and then finds all in place.
if command -v flock >/dev/null 2>&1 && [ -z "${FETCH_LOCKED:-}" ]; then
	FETCH_LOCKED=1 exec flock "$cache/.lock" "$0" "$@"
fi
todo=$(missing '')
[ -n "$todo" ] || exit 0

work=$(mktemp -d "$cache/.fetch.XXXXXX")
trap 'rm -rf "$work"' EXIT
trap 'exit 130' INT TERM HUP

failed=
for pkg in $(printf '%s\n' "$todo" | cut -d'|' -f1 | sort -u); do
	dir=$work/$pkg
	mkdir "$dir"
	# 'download' needs no root: it writes into the current folder.
	if ! (cd "$dir" && apt-get -q download "$pkg" >log 2>&1); then
		say "package $pkg can't be downloaded: $(grep '^E:' "$dir/log" | head -1)"
		say "  is it in this distribution, and are the package lists fresh ('apt-get update' as root, component universe on Ubuntu)?"
		failed="$failed $pkg"
		continue
	fi
	mkdir "$dir/x"
	# One pass over the archive for all patterns of this package. tar reports
	# patterns that match nothing; the loop below names them better.
	dpkg-deb --fsys-tarfile "$dir"/*.deb >"$dir/fs.tar"
	patterns=$(missing "$pkg" | cut -d'|' -f2)
	set -f # the patterns are tar's, not the shell's
	# shellcheck disable=SC2086 # they hold no blanks
	tar -x -f "$dir/fs.tar" -C "$dir/x" --wildcards $patterns 2>/dev/null || true
	set +f
	missing "$pkg" >"$dir/todo"
	while IFS='|' read -r _ path dest; do
		found=$(find "$dir/x" -type f -path "$path" | head -1)
		if [ -z "$found" ]; then
			say "package $pkg holds no file like $path"
			failed="$failed $dest"
			continue
		fi
		mkdir -p "$(dirname "$cache/$dest")"
		cp "$found" "$work/file"
		mv "$work/file" "$cache/$dest"
	done <"$dir/todo"
	rm -rf "$dir"
done

if [ -n "$failed" ]; then
	say "still missing:$failed"
	exit 1
fi
