#!/usr/bin/env bash
# Each room includes only the rooms it may (docs/design.md, "how music flows"); `common` is open to all.
set -u
cd "$(dirname "$0")/.."
declare -A may=(
  [common]="" [stream]="" [coil]="stream" [guard]="stream coil" [check]="stream coil" [score]=""
  [listen]="score" [link]="stream" [weave]="score listen stream coil" [tables]="stream coil"
  [live]="score weave guard stream coil link"
  [preview]="stream coil guard check score listen weave"
  [sets]="stream coil guard check score listen weave tables preview"
  [command]="stream coil guard check score listen weave tables link live preview sets"
)
bad=0
seen=0
for room in "${!may[@]}"; do
  while IFS=: read -r file line include; do
    seen=$((seen + 1))
    used=$(sed -E 's|.*"burstloom/([a-z]+)/.*|\1|' <<<"$include")
    case " $room common ${may[$room]} " in
      *" $used "*) ;;
      *) echo "$file:$line: room '$room' may not include '$used'"; bad=1 ;;
    esac
  done < <(grep -nHoE '#include "burstloom/[a-z]+/' -r "src/$room" "include/burstloom/$room")
done
for folder in src/*/ include/burstloom/*/; do
  [ -n "${may[$(basename "$folder")]+x}" ] || { echo "$folder is a room that tests/rooms.sh does not know"; bad=1; }
done
[ "$seen" -gt 20 ] || { echo "only $seen includes found: this check looks in the wrong place"; bad=1; }
exit $bad
