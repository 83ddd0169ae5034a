#!/bin/sh
# Runs the benchmark of pictures in memory, and beside it libvips' icc_transform of the same
# 24 megapixels to the same paper on the same number of threads: the conversion to ink
# alone, less than a proof. What libvips takes to read and write the files is taken
# off: the time of a copy, in the best of five runs each.
#
#   proof/peers.sh        needs testdata/cache (testdata/fetch.sh) and, for the peer, the
#                         packages libvips-tools and imagemagick
set -eu
cd "$(dirname "$0")/.."

go test -run xxx -bench Picture -benchtime 2s -timeout 20m ./proof

for tool in vips convert; do
	command -v "$tool" >/dev/null || { echo "skipped libvips: $tool is not installed"; exit 0; }
done

dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
convert assets/regatta.jpg +profile '*' "$dir/one.ppm"
convert "$dir/one.ppm" "$dir/one.ppm" "$dir/one.ppm" "$dir/one.ppm" -append "$dir/four.ppm"
vips copy "$dir/four.ppm" "$dir/four.v"

# best COMMAND...: the shortest of five runs, in milliseconds.
best() {
	least=
	for _ in 1 2 3 4 5; do
		from=$(date +%s%N)
		"$@"
		took=$((($(date +%s%N) - from) / 1000000))
		[ -n "$least" ] && [ "$least" -le "$took" ] || least=$took
	done
	echo "$least"
}

profiles=testdata/cache/profiles
copy=$(best vips copy "$dir/four.v" "$dir/out.v")
ink=$(best vips icc_transform "$dir/four.v" "$dir/out.v" "$profiles/FOGRA39L_coated.icc" \
	--input-profile "$profiles/rommrgb.icc" --intent relative)
awk -v copy="$copy" -v ink="$ink" 'BEGIN {
	ms = ink - copy
	if (ms < 1) ms = 1
	printf "libvips icc_transform to ink: %.0f MP/s (%d ms, of which %d ms for the files)\n", 24000 / ms, ink, copy
}'
