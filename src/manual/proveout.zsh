#compdef proveout
# What zsh completes of proveout: made of the tables of the program while that was built.
#
# Nothing that is typed, and nothing that a machine file says, is ever run: quotes are taken off by
# (Q), and compadd puts them on again.

typeset -g _proveout_table='
@completions@
'

# The rows of one kind, of a command, about a word; sets `rows` to the words and `told` to the last
# columns.
_proveout_rows()
{
    local line
    local -a part
    rows=() told=()
    for line in "${(@f)_proveout_table}"; do
        part=("${(@ps:\t:)line}")
        [[ ${part[1]} == "$1" ]] || continue
        [[ $1 == command || ${part[2]} == "$2" ]] || continue
        (( $# < 3 )) || [[ ${part[3]} == "$3" ]] || continue
        [[ $1 == command ]] && rows+=("${part[2]}") || rows+=("${part[3]}")
        told+=("${part[4]}")
    done
}

# The words of the line: `command`, its `arguments`, of which `count` stand before the cursor, and in
# `waiting` the option whose value is typed; `only` tells that no option can follow.
_proveout_read()
{
    local word open='' closed=''
    local -i index
    local -a rows told
    command='' arguments=() waiting='' count=0 only=''
    for (( index = 2; index <= $#words; index++ )); do
        word=${(Q)words[index]}
        [[ ${words[index]} == '~/'* ]] && word=$HOME/${word#'~/'}
        if (( index == CURRENT )); then
            waiting=$open open='' only=$closed count=$#arguments
        elif [[ -n $open ]]; then
            open=''
        elif [[ $word == -- ]]; then
            closed=yes
        elif [[ -z $closed && $word == -?* ]]; then
            _proveout_rows value "$command" "$word"
            (( $#rows )) && open=$word
        elif [[ -z $command ]] && (( index < CURRENT )); then
            command=$word
        else
            arguments+=("$word")
        fi
    done
}

# Offers names with what is told of them: _proveout_offer WHAT [OPTION OF COMPADD ...]
_proveout_offer()
{
    local what=$1
    local -a shown
    local -i index widest=0
    shift
    for (( index = 1; index <= $#rows; index++ )); do
        (( ${#rows[index]} > widest )) && widest=${#rows[index]}
    done
    for (( index = 1; index <= $#rows; index++ )); do
        shown+=("${(r:widest:)rows[index]}  ${told[index]}")
    done
    (( $#rows )) && compadd "$@" -J "$what" -l -d shown -a rows
}

# What the program lists: _proveout_names SUFFIX WHAT [FILE]
_proveout_names()
{
    local line
    local -a rows told suffix
    [[ -n $1 ]] && suffix=(-S "$1")
    shift
    for line in "${(@f)$(command proveout names -- "$@" 2>/dev/null </dev/null)}"; do
        [[ -n $line ]] || continue
        rows+=("${line%%$'\t'*}")
        told+=("${line#*$'\t'}")
    done
    _proveout_offer "$1" $suffix
}

_proveout_item()
{
    local -a file
    [[ $command == explain ]] || file=("${arguments[1]}")
    case $1 in
    @machines) _path_files -/ -g '*.(yaml|yml)(-.)' ;;
    @files) _path_files ;;
    @folders) _path_files -/ ;;
    @rules) _proveout_names '' rules ;;
    @cutters) _proveout_names '' cutters "${arguments[1]}" ;;
    @fields) _proveout_names '' fields "${file[@]}" ;;
    @settings) _proveout_names '=' fields "${file[@]}" ;;
    *) compadd -J words -- "$1" ;;
    esac
}

_proveout()
{
    local command waiting only item
    local -i count
    local -a arguments rows told
    _proveout_read
    if [[ -n $waiting ]]; then
        _proveout_rows value "$command" "$waiting"
    elif [[ -z $only && $PREFIX == --*=* ]]; then
        _proveout_rows value "$command" "${PREFIX%%=*}"
        compset -P '*='
    elif [[ -z $only && $PREFIX == -* ]]; then
        _proveout_rows option "$command"
        _proveout_offer options
        return
    elif [[ -z $command ]]; then
        _proveout_rows command
        _proveout_offer commands
        return
    elif (( count == 0 )); then
        _proveout_rows first "$command"
    else
        _proveout_rows after "$command" "${(Q)words[CURRENT - 1]}"
        (( $#rows )) || _proveout_rows rest "$command"
    fi
    for item in ${=told}; do _proveout_item "$item"; done
}

_proveout "$@"
