/* The one script that the page's policy names: it brings in the rest, which is packed in the same
 * file. */
import {unpacked} from './unpack';

void unpacked('program').then((bytes) => {
    const script = document.createElement('script');
    script.src = URL.createObjectURL(new Blob([bytes], {type: 'text/javascript'}));
    document.head.append(script);
});
