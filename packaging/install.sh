#!/bin/sh
# Installs barwright for this user: ./install.sh [--prefix DIR] [--remove]. The workshop's folder is never touched.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
prefix=${HOME:-}/.local
remove=
while [ $# -gt 0 ]; do
  case $1 in
    --prefix) [ $# -ge 2 ] || { echo "--prefix needs a folder" >&2; exit 2; }; prefix=$2; shift 2 ;;
    --remove) remove=yes; shift ;;
    *) echo "unknown: $1 (there are --prefix DIR and --remove)" >&2; exit 2 ;;
  esac
done
case $prefix in
  /*) ;;
  *) echo "the folder must begin with /: $prefix" >&2; exit 2 ;;
esac

# Every file of the package, and nothing else, goes and comes.
cd "$here"
find bin share -type f | while IFS= read -r file; do
  if [ -n "$remove" ]; then
    rm -f "$prefix/$file"
  else
    mkdir -p "$prefix/$(dirname "$file")"
    # Beside the old one, then over it: a program that runs keeps its file, and none is half-written.
    cp "$file" "$prefix/$file.new"
    mv -f "$prefix/$file.new" "$prefix/$file"
  fi
done
if [ -n "$remove" ]; then
  echo "barwright is removed from $prefix. Your workshop is where it was."
  exit 0
fi
echo "barwright is installed in $prefix. Start it: $prefix/bin/barwright serve"
case ":${PATH:-}:" in
  *":$prefix/bin:"*) ;;
  *) echo "To start it by its name alone, add $prefix/bin to your PATH." ;;
esac
