# What fish completes of proveout: made of the tables of the program while that was built.
#
# Nothing that is typed, and nothing that a machine file says, is ever run: fish takes candidates as
# plain text, and puts them in quotes where that is needed.

set -g __proveout_table '
@completions@
'

# The rows of one kind, of a command, about a word, each "word<tab>last column".
function __proveout_rows
    for line in (string split \n -- $__proveout_table)
        set -l part (string split \t -- $line)
        test "$part[1]" = "$argv[1]"; or continue
        if test "$argv[1]" = command
            printf '%s\t%s\n' $part[2] $part[4]
            continue
        end
        test "$part[2]" = "$argv[2]"; or continue
        if set -q argv[3]
            test "$part[3]" = "$argv[3]"; or continue
        end
        printf '%s\t%s\n' $part[3] $part[4]
    end
end

# What those rows tell, alone.
function __proveout_told
    __proveout_rows $argv | string replace -r '^[^\t]*\t' ''
end

function __proveout_names
    command proveout names -- $argv 2>/dev/null </dev/null
end

# All that an item stands for, of which this is typed.
function __proveout_item
    set -l file $__proveout_file
    test "$__proveout_command" = explain; and set file
    switch $argv[1]
        case @machines
            __fish_complete_path $argv[2] | string match -r '^[^\t]*(?:/|\.ya?ml)(?:\t.*)?$'
        case @files
            __fish_complete_path $argv[2]
        case @folders
            __fish_complete_directories $argv[2]
        case @rules
            __proveout_names rules
        case @cutters
            __proveout_names cutters $__proveout_file
        case @fields
            __proveout_names fields $file
        case @settings
            __proveout_names fields $file | string replace \t =\t
        case '*'
            echo $argv[1]
    end
end

# The words of the line: the command, the first of its arguments, how many of them stand before the
# cursor, and the option whose value is typed.
function __proveout_read
    set -g __proveout_command
    set -g __proveout_file
    set -g __proveout_count 0
    set -g __proveout_waiting
    set -g __proveout_only
    set -l before (commandline -opc)
    set -l all (commandline -op)
    set -l here (math (count $before) + 1)
    set -l open
    set -l closed
    # the word that is typed is none of those behind the cursor
    set -l typed (commandline -t)
    if test -n "$typed"; and set -q all[$here]
        set -e all[$here]
    end
    for index in (seq 2 (math (count $all) + 1))
        if test $index -eq $here
            set __proveout_waiting $open
            set __proveout_only $closed
            set open
        end
        set -q all[$index]; or break
        set -l word $all[$index]
        if test -n "$open"
            set open
        else if test "$word" = --
            set closed yes
        else if test -z "$closed"; and string match -qr '^-.' -- $word
            set -l rows (__proveout_rows value "$__proveout_command" $word)
            set -q rows[1]; and set open $word
        else if test -z "$__proveout_command"; and test $index -lt $here
            set __proveout_command $word
        else
            set -q __proveout_file[1]; or set __proveout_file (string replace -r '^~/' "$HOME/" -- $word)
            test $index -lt $here; and set __proveout_count (math $__proveout_count + 1)
        end
    end
end

function __proveout_complete
    __proveout_read
    set -l typed (commandline -ct)
    set -l items
    set -l option
    if test -n "$__proveout_waiting"
        set items (__proveout_told value "$__proveout_command" $__proveout_waiting)
    else if test -z "$__proveout_only"; and string match -qr '^--.*=' -- $typed
        set option (string replace -r '=.*$' '' -- $typed)
        set items (__proveout_told value "$__proveout_command" $option)
    else if test -z "$__proveout_only"; and string match -qr '^-' -- $typed
        __proveout_rows option "$__proveout_command"
        return
    else if test -z "$__proveout_command"
        __proveout_rows command
        return
    else if test $__proveout_count -eq 0
        set items (__proveout_told first $__proveout_command)
    else
        set items (__proveout_told after $__proveout_command (commandline -opc)[-1])
        test -n "$items"; or set items (__proveout_told rest $__proveout_command)
    end
    test -n "$option"; and set option $option=
    for item in (string split -n ' ' -- $items)
        for line in (__proveout_item $item (string replace -r '^--[^=]*=' '' -- $typed))
            printf '%s%s\n' $option $line
        end
    end
end

complete -c proveout -f -a '(__proveout_complete)'
