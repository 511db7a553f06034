#!/bin/bash
# rig.sh [-w WORKDIR] [-o OUTDIR] [-t SECONDS] SCRIPT [ARG...]
# Boots the guest with real drivers, runs SCRIPT (bash) with ARGs in it (the host's root read-only under a tmpfs overlay),
# prints its output and exits with its status; 125 = the guest did not finish.
# In the guest: cwd and $RIG_OUT = OUTDIR (shared, writable), $RIG_DIR = this directory, $RIG_WORK, $RIG_BAR, $RIG_I2C_BUS.
# TCG always: /dev/kvm may open and still not run a stock kernel (nested or paravirtual hosts).
set -u
HERE=$(cd "$(dirname "$0")" && pwd); W=${RIG_WORK:-$HOME/.cache/benchmon-rig}; OUT=; T=${RIG_TIMEOUT:-120}
while getopts w:o:t: c; do case $c in w) W=$OPTARG;; o) OUT=$OPTARG;; t) T=$OPTARG;; *) exit 2;; esac; done; shift $((OPTIND-1))
[ $# -ge 1 ] && [ -f "$1" ] || { sed -n 2,5p "$0" >&2; exit 2; }
[ -e "$W/initrd.gz" ] || { echo "rig: nothing in $W; run setup.sh first" >&2; exit 2; }
W=$(cd "$W" && pwd); OUT=${OUT:-$W/out}; mkdir -p "$OUT"; OUT=$(cd "$OUT" && pwd); rm -f "$OUT"/{log,rc}
cp "$1" "$OUT/cmd.sh"; shift
{ printf 'export RIG_DIR=%q RIG_WORK=%q\nset --' "$HERE" "$W"; [ $# -gt 0 ] && printf ' %q' "$@"; echo; } >"$OUT/env.sh"
# the guest's memory: a file, so that the control page can be set; containers often give /dev/shm only 64 MB
SHM=/dev/shm; [ "$(df --output=avail -k /dev/shm 2>/dev/null | tail -1)" -gt 540000 ] 2>/dev/null || SHM=$W
MEM=$(mktemp -p "$SHM" rig.XXXXXX); trap 'rm -f "$MEM"' EXIT; truncate -s 512M "$MEM"
# control page, guest-physical 0x0F000000 (see ssdt.dsl): tmp0 40 C, tmp1 30 C (0.1 K), power 42000 mW, the rest 0
le() { printf '\\x%02x\\x%02x\\x%02x\\x%02x' $(($1&255)) $(($1>>8&255)) $(($1>>16&255)) $(($1>>24&255)); }
printf "$(le 3131)$(le 3031)$(le 42000)" | dd of="$MEM" bs=1 seek=$((0x0F000000)) conv=notrunc status=none
timeout "$T" qemu-system-x86_64 -M pc,memory-backend=ram0 -object memory-backend-file,id=ram0,size=512M,mem-path="$MEM",share=on \
  -accel tcg,thread=multi -smp 2 -m 512 -cpu Nehalem,family=6,model=94,stepping=3,+tm,+acpi,+est,+tm2,x-force-features=on \
  -display none -nodefaults -no-reboot -serial stdio -serial null -serial null -serial null \
  -device secondary-vga,addr=9,vgamem_mb=1 -acpitable file="$W/acpi/ssdt.aml" \
  -virtfs local,path=/,mount_tag=host,security_model=none,readonly=on,multidevs=remap \
  -virtfs local,path="$OUT",mount_tag=out,security_model=none,multidevs=remap \
  -kernel "$W"/kernel/x/boot/vmlinuz-* -initrd "$W/initrd.gz" \
  -append "console=ttyS0 quiet panic=-1 tsc=reliable iomem=relaxed memmap=4K\$0x0F000000 ${RIG_APPEND:-}" </dev/null >"$OUT/console" 2>&1
cat "$OUT/log" 2>/dev/null; [ -s "$OUT/rc" ] && exit "$(cat "$OUT/rc")"
echo "rig: guest did not finish" >&2; tail -20 "$OUT/console" >&2; exit 125
