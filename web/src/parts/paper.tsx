// A drawing of the program's, as an image on paper: it is drawn for white paper and stays so in dark colours.
import { useEffect, useState } from 'react';

/// `plain`: what stands there when there is no such drawing.
export function Paper({ src, alt, plain = 'There is nothing to draw.' }: { src: string; alt: string; plain?: string }) {
  const [gone, setGone] = useState(false);
  useEffect(() => setGone(false), [src]);
  if (gone) return <p className="lead">{plain}</p>;
  return (
    <figure className="paper">
      <img src={src} alt={alt} loading="lazy" onError={() => setGone(true)} />
    </figure>
  );
}

/// The address of a drawing that came along in an answer.
export function svgAddress(svg: string): string {
  return `data:image/svg+xml,${encodeURIComponent(svg)}`;
}
