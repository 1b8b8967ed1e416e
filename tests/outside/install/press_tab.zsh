# press_tab.zsh FOLDER LINE: what an interactive zsh that finds completions in FOLDER makes of LINE when Tab is pressed.
zmodload zsh/zpty
zpty -b shell zsh -f -i
zpty -w shell "PS1=; fpath=(${(q)1} \$fpath); autoload -U compinit; compinit -u -D; bindkey '^I' complete-word"
zpty -w shell "show() { print -r -- \"<\$BUFFER>\"; }; zle -N show; bindkey '^X' show; print re''ady"
zpty -r -m shell answer '*ready*'
zpty -w -n shell "$2"$'\t\C-x'
zpty -r -m shell answer '*<*>*'
print -r -- ${${answer##*<}%%>*}
