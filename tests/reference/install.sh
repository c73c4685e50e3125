#!/usr/bin/env bash
# Installs the independent tools that the reference suite compares with, from Debian packages, and prints their versions.
# They are never needed to use the product.
set -euo pipefail
packages=(chromium poppler-utils gdal-bin python3-gdal python3-shapely saga r-base-core r-cran-gstat r-cran-sp r-cran-e1071 python3-sklearn)
missing=()
for package in "${packages[@]}"; do
  dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q "install ok installed" || missing+=("$package")
done
if [ ${#missing[@]} -gt 0 ]; then
  as_root=()
  [ "$(id -u)" = 0 ] || as_root=(sudo)
  "${as_root[@]}" apt-get update -qq
  DEBIAN_FRONTEND=noninteractive "${as_root[@]}" apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
fi
dpkg-query -W -f='${Package} ${Version}\n' "${packages[@]}"
