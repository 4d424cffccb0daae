#!/usr/bin/env bash
# Makes reference/coded: our own synthetic blow in the forms recorders and phones write, by general-purpose encoders.
# Debian 12: ffmpeg 5.1.9, flac 1.4.2, lame 3.100, vorbis-tools 1.4.2. Run at the root of the repository.
set -euo pipefail
out=reference/coded
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir -p "$out"
for rate in 44100 48000; do
  cargo run --quiet --package barwright --example synthetic_blow -- "$rate" "$work/$rate.wav"
done
quiet=(ffmpeg -hide_banner -loglevel error -y -bitexact -i)
mono=(-af aformat=channel_layouts=mono)
for rate in 44100 48000; do
  "${quiet[@]}" "$work/$rate.wav" "${mono[@]}" -c:a pcm_s24le "$work/$rate.mono.wav"
done
wav=$work/44100.mono.wav
"${quiet[@]}" "$wav" -c:a pcm_s16le "$work/16.wav"
flac --silent --best --force --until=0:01.30 -o "$out/blow.flac" "$work/16.wav"
lame --quiet -b 128 -m m "$work/16.wav" "$out/blow.mp3"
lame --quiet -V 2 -m j --resample 48 <(ffmpeg -loglevel error -i "$wav" -ac 2 -f wav -) "$out/blow-stereo.mp3"
"${quiet[@]}" "$wav" -c:a aac -b:a 96k "$out/blow.m4a"
"${quiet[@]}" "$work/48000.mono.wav" -ac 2 -c:a aac -b:a 128k -movflags +faststart "$out/blow-stereo.m4a"
"${quiet[@]}" "$wav" -c:a aac -b:a 96k -f adts "$out/blow.aac"
"${quiet[@]}" "$wav" -t 0.9 -c:a alac -sample_fmt s16p "$out/blow-lossless.m4a"
oggenc --quiet -q 4 --serial 1 -o "$out/blow.ogg" "$work/16.wav"
"${quiet[@]}" "$wav" -t 0.6 -c:a pcm_s16be "$out/blow.aiff"
# Hard cases: a telephone's band, a narrow-band file, codings that are not read, a video without sound.
"${quiet[@]}" "$wav" -ar 8000 -c:a libgsm -f gsm "$work/phone.gsm"
"${quiet[@]}" "$work/phone.gsm" -ar 44100 -sample_fmt s16 "$work/phone.wav"
flac --silent --best --force --until=0:01.30 -o "$out/telephone.flac" "$work/phone.wav"
"${quiet[@]}" "$wav" -ar 8000 -c:a libmp3lame -b:a 24k "$out/8khz.mp3"
"${quiet[@]}" "$work/48000.mono.wav" -c:a libopus -b:a 48k "$out/opus.ogg"
ffmpeg -hide_banner -loglevel error -y -f lavfi -i color=c=black:s=32x32:d=0.2 -c:v mpeg4 -bitexact "$out/video-only.mp4"
ls -l "$out"
