#!/bin/sh
# Measures the engine beside its peers, on the demo picture four times over, 24 megapixels.
#
# In memory: the benchmarks, and libvips' icc_transform to the same paper on the same number
# of threads: the conversion to ink alone, less than a proof. What libvips takes to read
# and write the files is taken off: the time of a copy, in the best of five runs each.
#
# As a whole process, from JPEG to JPEG: the shell command's proof with its figures, and jpgicc's
# proof alone, in turn, the median of nine ratios; what reading and writing the JPEG take of
# that is told by the benchmark of the codec.
#
#   proof/peers.sh [memory|process]     needs testdata/cache (testdata/fetch.sh) and, for the
#                                       peers, the packages imagemagick, libvips-tools and
#                                       liblcms2-utils
set -eu
cd "$(dirname "$0")/.."

what=${1-both}
have() {
	for tool; do
		command -v "$tool" >/dev/null || { echo "skipped: $tool is not installed"; return 1; }
	done
}

[ "$what" = process ] || go test -run xxx -bench Picture -benchtime 2s -timeout 20m ./proof

have convert || exit 0
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
convert assets/regatta.jpg +profile '*' "$dir/one.ppm"
convert "$dir/one.ppm" "$dir/one.ppm" "$dir/one.ppm" "$dir/one.ppm" -append "$dir/four.ppm"

# took COMMAND...: its time in milliseconds.
took() {
	from=$(date +%s%N)
	"$@" >/dev/null
	echo $((($(date +%s%N) - from) / 1000000))
}

# best COMMAND...: the shortest of five runs.
best() { for _ in 1 2 3 4 5; do took "$@"; done | sort -n | head -n 1; }

if [ "$what" != process ] && have vips; then
	profiles=testdata/cache/profiles
	vips copy "$dir/four.ppm" "$dir/four.v"
	copy=$(best vips copy "$dir/four.v" "$dir/out.v")
	ink=$(best vips icc_transform "$dir/four.v" "$dir/out.v" "$profiles/FOGRA39L_coated.icc" \
		--input-profile "$profiles/rommrgb.icc" --intent relative)
	awk -v copy="$copy" -v ink="$ink" 'BEGIN {
		ms = ink - copy
		if (ms < 1) ms = 1
		printf "libvips icc_transform to ink: %.0f MP/s (%d ms, of which %d ms for the files)\n", 24000 / ms, ink, copy
	}'
fi

if [ "$what" != memory ] && have jpgicc; then
	go test -run xxx -bench Codec ./proof/jpeg | grep Benchmark
	go build -o "$dir/shell" ./app/batch
	convert "$dir/four.ppm" -quality 92 -sampling-factor 4:2:0 "$dir/four.jpg"
	ours() {
		"$dir/shell" proof "$dir/four.jpg" -source "$source" -paper pearl -intent relative -bpc on -out "$dir/out.$1" -figures "$dir/out.json"
	}
	theirs() {
		jpgicc -i"$source" -passets/papers/pearl.icc -t1 -b -m1 "$dir/four.jpg" "$dir/theirs.jpg" 2>/dev/null
	}
	source=testdata/cache/profiles/rommrgb.icc
	ours jpg >/dev/null
	theirs >/dev/null
	test -s "$dir/theirs.jpg"
	for ending in jpg png; do
		for _ in 1 2 3 4 5 6 7 8 9; do
			echo "$(took ours $ending) $(took theirs)"
		done | awk '{ print $1 / $2, $1, $2 }' | sort -n | awk -v ending=$ending '
			NR == 1 { least = $1 }
			NR == 5 { median = $1; ms = $2; peer = $3 }
			END { printf "proof and figures, JPEG to %s: %.2f of jpgicc (%.2f to %.2f; %d ms, jpgicc %d)\n", ending, median, least, $1, ms, peer }'
	done
fi
