#!/usr/bin/env bash
# described.sh BURSTLOOM FOLDER: whether the manual page and the completions in FOLDER know every command and option that
# `--help` shows, and no other; asked of the shells themselves.
set -euo pipefail
burstloom=$1 folder=$2
export LC_ALL=C
failed=0
fail() { echo "described: $1"; failed=1; }

# The options in a command's help; "coil show" for `burstloom coil show`.
options_of() { "$burstloom" $1 --help | grep -oE '^  (-[a-z],)?--[a-z-]+' | grep -oE -- '-[a-z]\b|--[a-z-]+' | sort; }
below() { "$burstloom" $1 --help | sed -n '/^Subcommands:/,/^$/s/^  \([a-z]*\) .*/\1/p'; }

commands=("")
while read -r command; do
  commands+=("$command")
  while read -r further; do [[ -z $further ]] || commands+=("$command $further"); done < <(below "$command")
done < <(below "")
[[ ${#commands[@]} -ge 12 ]] || { echo "described: only ${#commands[@]} commands found in the help"; exit 1; }

same() { # what, command, expected, found
  [[ "$3" == "$4" ]] || { fail "$1, burstloom $2:"; diff <(echo "$3") <(echo "$4") || true; }
}

warnings=$(groff -man -Tutf8 -ww -z "$folder/burstloom.1" 2>&1)
[[ -z $warnings ]] || fail "groff warns: $warnings"
[[ $(groff -man -Tascii -P-cbou "$folder/burstloom.1") == *"$("$burstloom" --version)"* ]] ||
  fail "the manual page does not say the version that --version says"
page=$(groff -man -Tascii -P-cbou -rLL=200n "$folder/burstloom.1")
in_page() { # the options in a command's section
  awk -v title="   burstloom${1:+ $1}" '
    $0 ~ /^   ?burstloom/ || $0 ~ /^[A-Z]/ { inside = ($0 == title || ("'"$1"'" == "" && $0 == "OPTIONS")) } inside' <<<"$page" |
    grep -E '^ {7}-' | grep -oE -- '(^ *| )-[a-z]\b|--[a-z-]+' | tr -d ' ' | sort -u
}

in_bash() {
  bash --norc -uc 'source "$1"; COMP_WORDS=(burstloom $2 -); COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
    _burstloom; printf "%s\n" "${COMPREPLY[@]}"' _ "$folder/burstloom.bash" "$1" | sort -u
}
in_fish() { fish -N -c "source $folder/burstloom.fish; complete -C 'burstloom ${1:+$1 }-'" | grep -oE '^-[^	]*' | sort -u; }
in_zsh() { # read, as listing all that zsh would offer takes a terminal
  sed -n "/^_burstloom${1:+_}${1// /_}() {/,/^}/p" "$folder/burstloom.zsh" | grep -oE "^ +'\*?--?[a-z-]+\[" | tr -d " '*[" | sort -u
}

for command in "${commands[@]}"; do
  expected=$(options_of "$command")
  same "manual page" "$command" "$expected" "$(in_page "$command")"
  same "bash" "$command" "$expected" "$(in_bash "$command")"
  same "zsh" "$command" "$expected" "$(in_zsh "$command")"
  same "fish" "$command" "$expected" "$(in_fish "$command")"
done

# A word that is not finished, Tab, and what stands there then.
finished_in_bash() {
  bash --norc -uc 'source "$1"; COMP_WORDS=($2); COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); _burstloom
    echo "${COMP_WORDS[*]:0:COMP_CWORD} ${COMPREPLY[*]}"' _ "$folder/burstloom.bash" "$1"
}
finished_in_fish() {
  fish -N -c "source $folder/burstloom.fish; complete -C '$1'" | sed "s|^|${1% *} |; s|	.*||"
}
finished_in_zsh() {
  mkdir -p "$work/zsh" && cp "$folder/burstloom.zsh" "$work/zsh/_burstloom"
  timeout 60 zsh -f "$(dirname "$0")/press_tab.zsh" "$work/zsh" "$1" | sed 's/ *$//'
}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
for line in "coil sh|coil show" "weave --cau|weave --causal" "weave song.mid --how foll|weave song.mid --how follow" \
  "export --to hea|export --to header" "export --target rp2|export --target rp2040"; do
  begun="burstloom ${line%|*}" whole="burstloom ${line#*|}"
  for shell in bash fish zsh; do
    same $shell "${line%|*}" "$whole" "$("finished_in_$shell" "$begun")"
  done
done
exit $failed
