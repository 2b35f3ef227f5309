# What bash completes of proveout: made of the tables of the program while that was built.
#
# Nothing that is typed, and nothing that a machine file says, is ever run: the line is taken apart
# letter by letter, and what is offered is put in quotes where bash would else make something of it.

_proveout_table='
@completions@
'

# The line without its quotes: whole words before the cursor in `before`, those behind it in
# `behind`, the one that is typed in `typed`.  Of that the first `fixed` letters stay as they are,
# `quote` is the quotation mark that is still open, `tilde` tells of a ~ that stands for a folder,
# and `unclear` that readline would not agree where the word begins.
_proveout_line()
{
    local c word='' begun='' open='' i
    before=() behind=() typed='' fixed=0 quote='' unclear='' tilde=''
    for ((i = 0; i <= ${#COMP_LINE}; i++)); do
        c=${COMP_LINE:i:1}
        if ((i == COMP_POINT)); then
            typed=$word quote=$open word=''
            # what goes on behind the cursor is the rest of this word
            [[ -n $open || (-n $c && $c != [[:blank:]]) ]] && begun=rest || begun=''
        fi
        if [[ -n $c && $c == "$open" ]]; then
            open=''
            ((i < COMP_POINT)) && unclear=yes
        elif [[ $c == "\\" && $open != "'" ]]; then
            if ((i + 1 == COMP_POINT)); then
                unclear=yes
            else
                i=$((i + 1))
                [[ $open == '"' && ${COMP_LINE:i:1} != [\"\\\$\`] ]] && word+="\\"
                word+=${COMP_LINE:i:1} begun=${begun:-yes}
            fi
        elif [[ -n $open && -n $c ]]; then
            word+=$c
        elif [[ $c == [\'\"] ]]; then
            open=$c begun=${begun:-yes}
            ((i < COMP_POINT)) && fixed=${#word}
        elif [[ -z $c || $c == [[:blank:]] ]]; then
            if ((i < COMP_POINT)); then
                [[ -n $begun ]] && before+=("$word")
                fixed=0 unclear='' tilde=''
            elif [[ $begun == yes ]]; then
                behind+=("$word")
            fi
            word='' begun=''
        else
            [[ -z $begun && $c == '~' ]] && ((i < COMP_POINT)) && tilde=yes
            begun=${begun:-yes} word+=$c
            [[ $COMP_WORDBREAKS == *"$c"* ]] && ((i < COMP_POINT)) && fixed=${#word}
        fi
    done
}

# The last column of the rows of that kind: _proveout_rows KIND COMMAND WORD
_proveout_rows()
{
    local kind command word told
    while IFS='|' read -r kind command word told; do
        [[ $kind == "$1" && $command == "$2" && $word == "$3" ]] && printf '%s\n' "$told"
    done <<<"${_proveout_table//$'\t'/|}"
}

# The second and third column: what there is, without what is told of it.
_proveout_named()
{
    local kind command word told
    while IFS='|' read -r kind command word told; do
        [[ $kind == command && $1 == command ]] && printf '%s\n' "$command"
        [[ $kind == option && $1 == option && $command == "$2" ]] && printf '%s\n' "$word"
    done <<<"${_proveout_table//$'\t'/|}"
}

_proveout_takes_value()
{
    local kind command word told
    while IFS='|' read -r kind command word told; do
        [[ $kind == value && $command == "$1" && $word == "$2" ]] && return 0
    done <<<"${_proveout_table//$'\t'/|}"
    return 1
}

# What those words are: `command`, its `arguments`, of which `count` stand before the cursor, and
# in `waiting` the option whose value is typed; `only` tells that no option can follow.
_proveout_read()
{
    local word index=0 here=${#before[@]} open='' closed=''
    command='' arguments=() waiting='' count=0 only=''
    for word in "${before[@]:1}" '' "${behind[@]}"; do
        index=$((index + 1))
        if ((index == here)); then
            waiting=$open open='' only=$closed count=${#arguments[@]}
        elif [[ -n $open ]]; then
            open=''
        elif [[ $word == -- ]]; then
            closed=yes
        elif [[ -z $closed && $word == -?* ]]; then
            _proveout_takes_value "$command" "$word" && open=$word
        elif [[ -z $command ]] && ((index < here)); then
            command=$word
        else
            arguments+=("$word")
        fi
    done
}

_proveout_files()
{
    local name shown path=$typed home=''
    [[ -n $tilde && $path == "~/"* ]] && home=$HOME/ path=$HOME/${path#"~/"}
    shopt -s nullglob
    shopt -u failglob
    set +f
    for name in "$path"*; do
        [[ -n $home ]] && shown="~/${name#"$home"}" || shown=$name
        if [[ -d $name ]]; then
            printf '%s/\0' "$shown"
        elif [[ $1 == files || ($1 == machines && ($name == *.yaml || $name == *.yml)) ]]; then
            printf '%s\0' "$shown"
        fi
    done
}

# All that an item stands for; what begins with what is typed is offered.
_proveout_item()
{
    local name told file=${arguments[0]}
    [[ $file == "~/"* ]] && file=$HOME/${file#"~/"}
    case $1 in
    @machines | @files | @folders)
        while IFS= read -r -d '' name; do offered+=("$name"); done \
            < <(_proveout_files "${1#@}")
        ;;
    @rules)
        while IFS=$'\t' read -r name told; do offered+=("$name"); done \
            < <(command proveout names rules 2>/dev/null </dev/null)
        ;;
    @cutters)
        while IFS=$'\t' read -r name told; do offered+=("$name"); done \
            < <(command proveout names cutters -- "$file" 2>/dev/null </dev/null)
        ;;
    @fields | @settings)
        local from=(fields)
        [[ $command != explain ]] && from=(fields -- "$file")
        while IFS=$'\t' read -r name told; do
            [[ $1 == @settings ]] && name+==
            offered+=("$name")
        done < <(command proveout names "${from[@]}" 2>/dev/null </dev/null)
        ;;
    *)
        offered+=("$1")
        ;;
    esac
}

# What is offered, as it has to stand on the line.
_proveout_offer()
{
    local word end
    COMPREPLY=()
    for word in "${offered[@]}"; do
        [[ $word == "$typed"* ]] || continue
        end=${word:fixed}
        [[ -n $end ]] || continue
        case $quote in
        \') [[ $end == *\'* ]] && continue ;;
        \") [[ $end == *[\"\\\`\$!]* ]] && continue ;;
        *)
            if [[ -n $tilde && $end == "~/"* ]]; then
                printf -v end '~/%q' "${end#"~/"}"
            else
                printf -v end %q "$end"
            fi
            ;;
        esac
        COMPREPLY+=("$end")
    done
    [[ ${COMPREPLY[0]} == *[/=] ]] && compopt -o nospace
}

_proveout()
{
    local before behind typed fixed quote unclear tilde
    local command arguments waiting count only
    local offered=() items='' word option=''
    _proveout_line
    [[ -z $unclear ]] || return
    _proveout_read
    if [[ -n $waiting ]]; then
        items=$(_proveout_rows value "$command" "$waiting")
    elif [[ -z $only && $typed == --*=* ]]; then
        option=${typed%%=*}
        items=$(_proveout_rows value "$command" "$option")
        typed=${typed#*=}
    elif [[ -z $only && $typed == -* ]]; then
        mapfile -t offered < <(_proveout_named option "$command")
    elif [[ -z $command ]]; then
        mapfile -t offered < <(_proveout_named command)
    elif ((count == 0)); then
        items=$(_proveout_rows first "$command" '')
    else
        items=$(_proveout_rows after "$command" "${before[${#before[@]} - 1]}")
        [[ -n $items ]] || items=$(_proveout_rows rest "$command" '')
    fi
    read -r -a items <<<"$items"
    for word in "${items[@]}"; do _proveout_item "$word"; done
    if [[ -n $option ]]; then
        typed=$option=$typed
        for word in "${!offered[@]}"; do offered[word]=$option=${offered[word]}; done
    fi
    _proveout_offer
}

complete -F _proveout proveout
