/* Small parts that all screens share. */
import type {ComponentChildren} from 'preact';
import {texts} from './texts';
import type {Level} from './answers';

export function Button({children, onClick, label, disabled, kind, pressed}: {
    children: ComponentChildren; onClick: () => void; label?: string; disabled?: boolean;
    kind?: 'main' | 'quiet'; pressed?: boolean;
}) {
    return (
        <button type="button" class={kind ?? ''} onClick={onClick} disabled={disabled ?? false}
                {...(label ? {'aria-label': label, title: label} : {})}
                {...(pressed === undefined ? {} : {'aria-pressed': pressed})}>
            {children}
        </button>
    );
}

/** A sign that differs in shape, and the word with it: colour alone says nothing. */
export function LevelSign({level}: {level: Level | 'waived'}) {
    const sign = {error: '✕', warning: '!', note: 'i', waived: '–'}[level];
    return (
        <span class={`sign ${level}`}>
            <span aria-hidden="true">{sign}</span> {level === 'waived' ? level : texts.levels[level]}
        </span>
    );
}
