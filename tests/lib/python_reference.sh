# SciPy and statsmodels from Debian's archive, with which the evidence functions are compared. Sourced by bash, after
# packages.sh, from the top of the tree.
#
# Debian's python3-scipy depends on one version of Boost's headers, and the build on another, which excludes it; what
# runs of SciPy needs neither. So these are unpacked, and what they need is installed.

reference_unpacked=(python3-scipy python3-statsmodels python3-statsmodels-lib)
reference_needs=(python3-numpy python3-pandas python3-patsy python3-packaging python3-decorator libgfortran5
  liblbfgsb0)

# reference_works FOLDER: Debian's Python finds there what tests/evidence/grid_test.py asks of it.
reference_works() {
  PYTHONPATH="$1/usr/lib/python3/dist-packages" /usr/bin/python3 -c \
    'import scipy.special, scipy.stats, statsmodels.stats.proportion'
}

# python_reference FOLDER: puts it there, and does nothing where it is there and works. Fails where it cannot be had:
# a comparison that is passed over is worth nothing.
python_reference() {
  local folder=$1 fresh=$1.new log
  need_packages "${reference_needs[@]}"
  if [ -d "$folder" ] && reference_works "$folder" 2>/dev/null; then return; fi
  echo "== unpacking ${reference_unpacked[*]} into $folder"
  rm -rf "$fresh" && mkdir -p "$fresh/packages"
  log=$(mktemp)
  if ! { as_root apt-get update -qq && (cd "$fresh/packages" && apt-get download "${reference_unpacked[@]}"); } \
      >"$log" 2>&1; then
    cat "$log" >&2 && rm -f "$log"
    echo "apt's archive does not give ${reference_unpacked[*]}, with which the evidence functions are compared" >&2
    return 1
  fi
  rm -f "$log"
  local package
  for package in "$fresh"/packages/*.deb; do dpkg -x "$package" "$fresh" || return; done
  rm -rf "$fresh/packages" "$folder" && mv "$fresh" "$folder"
  if ! reference_works "$folder"; then
    echo "SciPy and statsmodels were unpacked into $folder, and /usr/bin/python3 cannot use them" >&2
    return 1
  fi
}
