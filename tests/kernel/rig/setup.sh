#!/bin/bash
# setup.sh [WORKDIR]: packages, Debian kernel (extracted, not installed), SSDT, initramfs, all into WORKDIR.
# WORKDIR: the argument, else $RIG_WORK, else ~/.cache/benchmon-rig. Idempotent. Root only if packages are missing.
# RIG_SHIM=1 also builds msrshim.ko (gcc and make installed if missing; the matching linux-headers are fetched here).
set -euo pipefail
HERE=$(cd "$(dirname "$0")" && pwd); W=${1:-${RIG_WORK:-$HOME/.cache/benchmon-rig}}
mkdir -p "$W"; W=$(cd "$W" && pwd); mkdir -p "$W/kernel/x" "$W/acpi"
export PATH=$PATH:/usr/sbin:/sbin
have() { command -v "$1" >/dev/null; }
install() {
  { apt-get update -q; DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "$@"; } >>"$W/apt.log" 2>&1 \
    || { tail -5 "$W/apt.log" >&2; exit 1; }
}
if ! { have qemu-system-x86_64 && have iasl && have i2cset && have cpio && have depmod && have xz && [ -x /bin/busybox ]; }; then
  install qemu-system-x86 seabios busybox-static cpio kmod acpica-tools i2c-tools xz-utils
fi
if [ -n "${RIG_SHIM:-}" ] && ! { have gcc && have make; }; then install gcc make libc6-dev libelf1; fi
kernel_package() { apt-cache depends linux-image-amd64 2>/dev/null | awk '/Depends: linux-image/{print $2; exit}'; }
P=$(kernel_package)
[ -n "$P" ] || { apt-get update -q >>"$W/apt.log" 2>&1; P=$(kernel_package); }
[ -n "$P" ] || { echo "setup: apt knows no linux-image-amd64" >&2; exit 1; }
V=${P#linux-image-}
download() { (cd "$W/kernel" && apt-get download "$1" >>apt.log 2>&1); }
# a second try after an update: a package that a security update has replaced is gone from the mirror
getdeb() { download "$1" || { apt-get update -q >>"$W/apt.log" 2>&1; download "$1"; } || { echo "setup: cannot download $1" >&2; tail -3 "$W/kernel/apt.log" >&2; exit 1; }; }
if ! [ -e "$W/kernel/.done" ]; then
  getdeb "$P"; L=./lib/modules/$V
  # only what the rig needs: 400 MB would come out otherwise
  dpkg-deb --fsys-tarfile "$W"/kernel/"$P"_*.deb | tar -x -C "$W/kernel/x" ./boot/vmlinuz-$V $L/modules.builtin $L/modules.builtin.modinfo $L/modules.order \
    $L/kernel/drivers/{hwmon,i2c,powercap,thermal,acpi,cpufreq,virtio} $L/kernel/net/9p $L/kernel/fs/{9p,overlayfs,fscache,netfs}
  rm "$W"/kernel/"$P"_*.deb; echo "$V" >"$W/kernel/.done"
fi
V=$(cat "$W/kernel/.done")
iasl -p "$W/acpi/ssdt" "$HERE/ssdt.dsl" >"$W/acpi/iasl.log" 2>&1 || { tail -15 "$W/acpi/iasl.log" >&2; exit 1; }
INIT=$HERE/guest_init.sh "$HERE/mkinitrd.sh" "$W/kernel/x" "$W/initrd.gz" virtio_pci 9pnet_virtio 9p overlay i2c-dev i2c-stub lm75 adt7475 jc42 ltc4215 \
  acpi_power_meter fan acpi-cpufreq cpufreq_userspace cpufreq_ondemand processor_thermal_device_pci_legacy coretemp intel_rapl_msr 2>"$W/depmod.log"
if [ -n "${RIG_SHIM:-}" ] && ! [ -e "$W/msrshim/msrshim.ko" ]; then
  mkdir -p "$W/kernel/hdr" "$W/msrshim"
  C=$(echo "$V" | sed 's/-[^-]*$//')
  for d in linux-headers-$V linux-headers-$C-common $(apt-cache depends linux-headers-$V | awk '/Depends: linux-kbuild/{print $2}'); do
    getdeb "$d"; dpkg-deb -x "$W"/kernel/"$d"_*.deb "$W/kernel/hdr"; rm "$W"/kernel/"$d"_*.deb; done
  H=$W/kernel/hdr/usr/src; sed -i "s#/usr/src/#$H/#" "$H/linux-headers-$V/Makefile"
  cp "$HERE"/msrshim/{msrshim.c,Makefile} "$W/msrshim/"
  make -s -C "$H/linux-headers-$V" M="$W/msrshim" modules >"$W/msrshim/build.log" 2>&1 || { tail -15 "$W/msrshim/build.log" >&2; exit 1; }
fi
echo "rig ready in $W (kernel $V)"
