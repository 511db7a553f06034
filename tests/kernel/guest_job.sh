# guest_job.sh REPOSITORY PYTHON RECORD_SECONDS EVERY SHIM LOOK LOOP-ARGS...   (runs in the guest; current folder = $RIG_OUT)
# The loop plays cooler and load; benchmon records beside it and, where LOOK is yes, lists the channels (a quarter of a
# minute under emulation). Leaves everything in $RIG_OUT.
repository=$1 python=$2 seconds=$3 every=$4 shim=$5 look=$6
shift 6
export PYTHONPATH=$repository BENCHMON_SESSIONS=$RIG_OUT XDG_RUNTIME_DIR=/run
[ "$shim" = no ] || . "$RIG_DIR/msrshim/load.sh"
# what the kernel offers, as the shell sees it: file, value, name of chip or zone
[ "$look" = no ] || for f in /sys/class/hwmon/hwmon*/{temp,fan,power}*_input /sys/class/hwmon/hwmon*/device/power1_average \
  /sys/class/thermal/thermal_zone*/temp /sys/class/powercap/*/energy_uj; do
  [ -r "$f" ] && echo "$f" "$(cat "$f" 2>/dev/null)" "$(cat "${f%/*}"/{name,type} 2>/dev/null)"
done >listing.txt
"$python" -c 'import time
def pair():
    a, wall, b = time.monotonic(), time.time(), time.monotonic()
    return b - a, wall - (a + b) / 2
print(min(pair() for _ in range(50))[1])' >clock_offset.txt
# the loop last: its schedule counts from its own start, and the recording should see all of it
"$python" "$RIG_DIR/closed_loop.py" --seconds $((seconds + 90)) --truth truth.csv "$@" >loop.txt &
loop=$!
for _ in $(seq 100); do [ -s /run/rig_load ] && break; sleep 0.1; done
"$python" -m benchmon record --for "${seconds}s" --every "$every" --to run.session.jsonl >record.txt 2>record.err
status=$?
echo $status >record.rc
[ $status -eq 0 ] || { kill $loop; wait $loop; echo "record ended with $status"; cat record.err; exit 1; }
if [ "$look" = yes ]; then
  "$python" -m benchmon channels --json --try-for 0.5s >channels.json 2>channels.err
  echo $? >channels.rc
fi
kill $loop # it writes its truth to the end
wait $loop
