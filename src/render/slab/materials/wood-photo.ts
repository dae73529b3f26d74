import { LinearMipmapLinearFilter, SRGBColorSpace, Texture, Vector4 } from 'three';

/** A picture of the slab from straight above; its middle from the slab's centre, y growing towards the viewer. */
export interface WoodPhoto {
  readonly image: ImageBitmap;
  readonly centreXMm: number;
  readonly centreYMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

/** The uniforms of the photographed wood, one object shared by face and rim. Owns the texture. */
export class WoodPhotoUniforms {
  readonly uWoodPhoto: { value: Texture };
  /** West, north, width, height in mm. */
  readonly uWoodPlace = { value: new Vector4(0, 0, 1, 1) };
  private texture: Texture | null = null;
  private readonly blank: Texture;
  private readonly anisotropy: number;

  constructor(blank: Texture, anisotropy: number) {
    this.blank = blank;
    this.anisotropy = anisotropy;
    this.uWoodPhoto = { value: blank };
  }

  set(photo: WoodPhoto | null): void {
    if (photo?.image !== this.texture?.image) {
      this.texture?.dispose();
      this.texture = photo && this.textureOf(photo.image);
    }
    this.uWoodPhoto.value = this.texture ?? this.blank;
    if (!photo) return;
    const { centreXMm, centreYMm, widthMm, heightMm } = photo;
    this.uWoodPlace.value.set(centreXMm - widthMm / 2, centreYMm - heightMm / 2, widthMm, heightMm);
  }

  private textureOf(image: ImageBitmap): Texture {
    const texture = new Texture(image);
    texture.colorSpace = SRGBColorSpace;
    // The graphics card takes image bitmaps as they are, first row first.
    texture.flipY = false;
    texture.minFilter = LinearMipmapLinearFilter;
    texture.anisotropy = this.anisotropy;
    texture.needsUpdate = true;
    return texture;
  }

  get shared() {
    return { uWoodPhoto: this.uWoodPhoto, uWoodPlace: this.uWoodPlace };
  }

  dispose(): void {
    this.texture?.dispose();
    this.texture = null;
  }
}
